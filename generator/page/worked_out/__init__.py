"""What the page has worked out for it: plain functions, most of them run by other processes."""
