"""How far a weave goes, in words for a maker."""

from __future__ import annotations

from ringwright.answers.limits import Limits
from ringwright.answers.limits_figures import LimitsFigures
from ringwright.base.figures import lines
from ringwright.base.terminal import figure_lines


def limits_text(found: Limits) -> str:
    """The limits in plain words."""
    return "\n".join(["How far it goes", *figure_lines(lines(LimitsFigures.of(found)))])
