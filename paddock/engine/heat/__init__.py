"""Tyre heat: a first-order tyre fitted per car and axle from its own readings, and what that foretells."""
