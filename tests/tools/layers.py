"""The picture of the layers: ``python -m tests.tools.layers [--write]``.

It is made from the declaration in ``pyproject.toml`` that the imports are held against, and from
the first docstring line of every folder. ``--write`` puts it into ``DEVELOPERS.md``.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

from tests.tools.source_tree import ROOT, modules, settings, summary

PLACE = ROOT / "DEVELOPERS.md"
_BEGIN, _END = "<!-- layers: made by python -m tests.tools.layers --write -->\n", "<!-- end -->\n"


def contracts() -> dict[str, list[list[str]]]:
    """By package, its layers from the top down; those beside each other do not know each other."""
    said = settings()["tool"]["importlinter"]["contracts"]
    return {
        package: [[name.strip() for name in _names(layer)] for layer in one["layers"]]
        for one in said
        if one["type"] == "layers"
        for package in one["containers"]
    }


def _names(layer: str) -> list[str]:
    return layer.replace("|", ":").split(":")


def picture() -> str:
    """The layers as a block of text, highest first, those of a package within it."""
    said = {name: summary(path) for name, path in modules()}
    return "```\n" + "\n".join(_lines("ringwright", contracts(), said, 0)) + "\n```\n"


def _lines(
    package: str, layers: dict[str, list[list[str]]], said: dict[str, str], deep: int
) -> Iterator[str]:
    for layer in layers[package]:
        for name in layer:
            whole = f"{package}.{name}"
            yield f"{'  ' * deep + name:18} {said[whole]}"
            if whole in layers:
                yield from _lines(whole, layers, said, deep + 1)


def placed(text: str) -> str:
    """A text with the picture as it is now between its two marks."""
    before, _, rest = text.partition(_BEGIN)
    _, _, after = rest.partition(_END)
    return before + _BEGIN + picture() + _END + after


def main() -> None:
    """Print the picture, or write it into its place."""
    if "--write" in sys.argv[1:]:
        PLACE.write_text(placed(PLACE.read_text(encoding="utf-8")), encoding="utf-8", newline="")
    else:
        print(picture(), end="")


if __name__ == "__main__":
    main()
