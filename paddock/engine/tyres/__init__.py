"""Tyres: runs, wear by edge, runs left, moves, when to order. Start with ``inventory``."""
