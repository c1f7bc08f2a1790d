"""The ways in which a piece takes its clasp, by name."""

# One ring at each end, through all that end there; one for every ring of the end; a taper.
ONE, BAR, TAPER = "one", "bar", "taper"
KINDS = (ONE, BAR, TAPER)
