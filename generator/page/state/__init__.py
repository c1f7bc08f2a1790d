"""What a maker has chosen, as data."""
