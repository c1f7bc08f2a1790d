"""A jig's files: models, picture, sheet."""
