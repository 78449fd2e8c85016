"""One model of the field: was it the change, what is the course doing, what are my chances, what to test next."""
