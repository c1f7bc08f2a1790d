"""Which version of ringwright this is."""

from __future__ import annotations


def program_version() -> str:
    """The installed version of ringwright, or "not installed"."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("ringwright")
    except PackageNotFoundError:
        return "not installed"
