"""Everything that is written of a weave or a piece."""
