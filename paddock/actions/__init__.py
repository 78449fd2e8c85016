"""Every edit a person can make, built in one place for screens and commands alike."""
