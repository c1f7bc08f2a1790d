"""Sizes, ring geometry, settling and the files that come out of it.

Data flows one way: a size and a weave rule go in, a settled unit is found, a
piece is laid out from it, and files are written from the piece.
"""
