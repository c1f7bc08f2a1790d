"""All that is chosen on a page, as one frozen value."""

from __future__ import annotations

from dataclasses import dataclass, fields

from ringwright.page.state.chosen import BY_ROLE, Wanted
from ringwright.page.state.file_settings import Settings

# What each text of a choice is, in words that its value follows.
_WORDS = {
    "weave": "weave",
    "shelf": "wire from the shelf",
    "wire": "wire",
    "mandrel": "mandrel",
    "inner": "inner diameter",
    "second": "second rings",
    "metal": "metal",
    "temper": "temper",
    "kerf": "saw kerf",
    "length": "length",
    "width": "width",
    "paint": "colours",
    "view": "what is looked at",
    "laid": "how it lies",
    "worn": "worn on",
    "girth": "measure round",
    "wires": "wires in",
    "lengths": "lengths in",
}
# Longer values would not stand on a button.
_LONGEST_VALUE = 30


@dataclass(frozen=True)
class Project:
    """What a page is about, and what a project file holds.

    Attributes
    ----------
    beside : choices that are kept to compare
    rule_text : the maker's own weave, or empty
    shop_text : the shop file, or empty
    """

    wanted: Wanted
    beside: tuple[Wanted, ...]
    rule_text: str
    shop_text: str
    settings: Settings


def wanted_change(old: Wanted, new: Wanted) -> str:
    """What was chosen instead, in words, such as ``wire 1.2mm``; empty where nothing was."""
    for name, said in _WORDS.items():
        value = getattr(new, name)
        if value != getattr(old, name):
            if name == "paint" and value == BY_ROLE:
                return "colours by role"
            return f"{said} {value[:_LONGEST_VALUE]}".strip() if value else f"no {said}"
    return ""


def settings_change(old: Settings, new: Settings) -> str:
    """What of the way files are made is another, in words; empty where nothing is."""
    for field in fields(Settings):
        before, after = getattr(old, field.name), getattr(new, field.name)
        if before == after:
            continue
        if field.name == "jigs":
            other = next(one for one in {**before, **after} if before.get(one) != after.get(one))
            return f"an option of the {other.replace('-', ' ')}"
        if isinstance(after, str):
            said, value = field.name.replace("_", " "), " ".join(after.split())
            return f"{said} {value[:_LONGEST_VALUE]}" if value else f"no {said}"
        return field.name
    return ""
