"""The coil winder part by part; the jig itself is ``jigs.winding_guide``."""
