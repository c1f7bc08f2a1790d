"""Circles, wires and how a unit repeats, without any weave."""
