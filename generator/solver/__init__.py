"""From a rule and a size to rings at rest, and to the tightest ring."""
