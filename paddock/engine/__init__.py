"""What is computed: pure, exact where results are settled, sourced where physics is borrowed.

Nothing here opens a file, reads a clock or knows a screen.
"""
