"""Scoring: totals, index, tables and what to find; a plain scorer, which is the oracle, and one in polars."""
