"""Rings of a second size: as a maker asks for them, and as they are beside a main ring.

They are typed as ``1mm/4.1mm`` or ``small=1mm/4.1mm``, wire and inner diameter.
"""

from __future__ import annotations

import difflib
from collections.abc import Sequence

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.weaves.rule import RuleSize, WeaveRule
from ringwright.weaves.second import with_second

EXAMPLE = "1mm/4.1mm"


def asked_second(rule: WeaveRule, texts: Sequence[str]) -> WeaveRule:
    """The rule with the maker's own rings in place of those of its other sizes.

    Parameters
    ----------
    texts : each wire/inner diameter, with the size's name and ``=`` before it; the name may
        be left out where the rule has only one size besides the main one

    Raises
    ------
    BadInput
        When the rule has no second size, a name is missing, unknown or there twice, or a
        text cannot be read.
    """
    if not texts:
        return rule
    names = [size.name for size in rule.sizes]
    if not names:
        raise BadInput(
            f"--second is for weaves with rings of more than one size, and {rule.name} has only "
            "one: leave it out."
        )
    rings: dict[str, tuple[float, float]] = {}
    for text in texts:
        typed, equals, ring = text.partition("=")
        name = _name(rule, names, text, typed.strip() if equals else None)
        if name in rings:
            raise BadInput(f"--second gives the rings {name!r} twice: give them once.")
        size = RingSize.from_pair(ring if equals else text, f"second ring {name!r}")
        rings[name] = (size.wire_mm, size.inner_mm)
    return with_second(rule, rings)


def ring_of(own: RuleSize, size: RingSize) -> RingSize:
    """The ring that a rule's size is beside a main ring."""
    if own.wire_mm is not None and own.inner_mm is not None:
        return RingSize(own.wire_mm, own.inner_mm)
    wire_mm = own.wire * size.wire_mm
    return RingSize(wire_mm, 2.0 * own.core * size.core_radius_mm - wire_mm)


def _name(rule: WeaveRule, names: list[str], text: str, typed: str | None) -> str:
    if typed is None:
        if len(names) == 1:
            return names[0]
        raise BadInput(
            f"--second {text!r} does not say which rings it is: {rule.name} has "
            f"{' and '.join(names)}, so write it like {names[0]}={EXAMPLE}."
        )
    if typed in names:
        return typed
    near = difflib.get_close_matches(typed, names, n=1, cutoff=0.5)
    known = f"did you mean {near[0]!r}?" if near and len(names) > 1 else _known(names)
    raise BadInput(f"--second {text!r}: {rule.name} has no rings named {typed!r}; {known}")


def _known(names: list[str]) -> str:
    if len(names) == 1:
        return f"its second rings are named {names[0]!r}, and the name may be left out."
    return f"its other rings are named {' and '.join(map(repr, names))}."
