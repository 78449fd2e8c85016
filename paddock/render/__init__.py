"""A Document laid out: lines of painted pieces for a terminal (``lines``), plain text, HTML with its plots as SVG.

A width is this room's matter; a page never knows it.
"""
