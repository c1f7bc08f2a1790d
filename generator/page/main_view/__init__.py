"""What stands above the tabs: the model, and the answer beside it."""
