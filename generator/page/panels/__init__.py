"""The panels of the page, one part of it each."""
