"""Over events: points, what is still open, rows of everything of mine, what one event hands to the next."""
