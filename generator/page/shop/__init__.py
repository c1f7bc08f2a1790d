"""The shop on the page."""
