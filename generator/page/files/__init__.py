"""Files that are made for a maker, and the commands that make them."""
