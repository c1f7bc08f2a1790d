"""Printable jigs, one module per jig; none is finished yet."""
