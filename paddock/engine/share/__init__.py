"""What is kept and shared: who is called what in it."""
