"""What stands below a picture of the model that is sent to somebody."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Caption:
    """The words of a picture.

    Attributes
    ----------
    file_name : of the picture
    title : the weave
    lines : its size, and what is seen of it
    query : the end of the address that leads back to it
    """

    file_name: str
    title: str
    lines: tuple[str, ...]
    query: str
