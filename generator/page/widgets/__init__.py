"""The page's own elements, from a button to the turnable view of rings."""
