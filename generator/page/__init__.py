"""The page in the browser: a local page that asks the same functions as the commands."""
