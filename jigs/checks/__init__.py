"""Whether a jig can be printed and put together, measured on its solids."""
