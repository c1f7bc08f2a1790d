"""Refusals of options that a weave has no use for."""

from __future__ import annotations

from ringwright.base.errors import BadInput
from ringwright.weaves.rule import WeaveRule


def refuse_without_rows(rule: WeaveRule, option: str, instead: str = "leave it out") -> None:
    """Refuse an option that was given for a weave without rows beside each other.

    Parameters
    ----------
    option : as it is typed, e.g. ``--width``
    instead : what to do

    Raises
    ------
    BadInput
        When the weave is no sheet.
    """
    if not rule.family.has_rows:
        raise BadInput(
            f"{option} is for sheets, and {rule.name} is a {rule.family.name}; {instead}."
        )
