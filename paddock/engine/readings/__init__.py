"""A car's pressure readings in the order they were taken, doubtful ones set apart, its air followed through them."""
