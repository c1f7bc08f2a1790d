"""Printable jigs, one module per jig; there are none so far."""
