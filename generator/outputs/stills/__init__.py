"""Stills of a weave for a shop page, a class handout or print."""
