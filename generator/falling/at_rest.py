"""When rings count as at rest."""

# A state counts as at rest at this residual or better: a thousandth of what a maker could see
# of a repeat of any length, and what a double of a figure leaves of forces a hundred times the
# pull.
AT_REST = 1e-6
