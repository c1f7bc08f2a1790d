"""Measured drawings of a few repeats: exact outlines, hidden lines, dimensions, and their files."""
