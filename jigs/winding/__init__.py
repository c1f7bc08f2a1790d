"""The coil winder part by part; the jig itself is ``ringwright.jigs.winding_guide``."""
