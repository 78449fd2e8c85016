"""Everything that is made from the example or from the code itself, made again: ``python -m tests.renew``."""
