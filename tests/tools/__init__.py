"""Tools for who works on ringwright: ``python -m tests.tools.NAME``."""
