"""The typeface of pictures, sheets and raised letters."""

from __future__ import annotations

from pathlib import Path


def typeface(bold: bool = False) -> Path:
    """The file of DejaVu Sans, which matplotlib brings along."""
    import matplotlib

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return Path(matplotlib.get_data_path()) / "fonts" / "ttf" / name
