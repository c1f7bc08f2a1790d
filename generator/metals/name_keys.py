"""What two spellings of one name have in common."""

from __future__ import annotations

from functools import lru_cache


@lru_cache(maxsize=2000)
def name_key(name: str) -> str:
    """Its letters and digits."""
    return "".join(mark for mark in name.casefold() if mark.isalnum())
