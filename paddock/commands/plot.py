"""Plots for the commands."""

from __future__ import annotations

from paddock.views.plot import lines_plot

__all__ = ["lines_plot"]
