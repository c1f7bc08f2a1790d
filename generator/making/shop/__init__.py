"""What is on the shelf: the shop file, and what of it suits a weave."""
