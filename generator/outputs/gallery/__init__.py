"""Every weave in one picture and on one page."""
