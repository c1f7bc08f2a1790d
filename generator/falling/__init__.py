"""Rings that fall, all of a piece or a unit at once, to where forces balance: sparse throughout."""
