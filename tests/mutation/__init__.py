"""Faults put into the engine on purpose, to see whether its tests notice: ``python -m tests.mutation``."""
