"""The panels below the model, one module each; ``page/tabs`` lists them."""
