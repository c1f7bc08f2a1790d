"""Whole pieces at rest: every ring of them, on a table, hung, spread or worn."""
