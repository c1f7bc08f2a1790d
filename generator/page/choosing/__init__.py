"""Where a maker chooses: weave, sizes, metal, units, and what is looked at."""
