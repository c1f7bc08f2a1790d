"""Stills in words: a title and a description for those who do not see the picture.

The description is the alternative text of the picture; it stands in the JSON and in the PNG
itself. It says in words whatever a colour shows.
"""

from __future__ import annotations

from collections.abc import Sequence

from ringwright.answers.laid_figures import unsettled
from ringwright.answers.second_figures import said_rings
from ringwright.base.sizes import RingSize, format_mm
from ringwright.outputs.stills.studio import DARK, LIGHT, ROLES, TRANSPARENT, role_words
from ringwright.outputs.stills.views import CLOSE, WHOLE, WORN
from ringwright.piece.piece import Piece
from ringwright.rest.fit import Fit
from ringwright.rest.laid import Laid
from ringwright.weaves.rest_states import NECK
from ringwright.weaves.rule import WeaveRule

APPROXIMATION = "Metal colours are approximations."
_GROUNDS = {LIGHT: "on a light ground", DARK: "on a dark ground", TRANSPARENT: "cut out"}
_HOW = {WHOLE: "whole", CLOSE: "close up", WORN: "worn"}


def title(rule: WeaveRule, metal: str, view: str) -> str:
    """The title of a picture."""
    return f"{rule.name} {_paint(metal)}, {_HOW[view]}"


def described(
    rule: WeaveRule, size: RingSize, piece: Piece, metal: str, background: str, shown: Sequence[str]
) -> str:
    """The description of a picture.

    Parameters
    ----------
    piece : the rings that it shows
    shown : sentences about what is to be seen and from where
    """
    ground = _GROUNDS[background]
    return " ".join(
        [
            f"Chainmail of the {rule.name} weave {_paint(metal)}, {ground}: {rule.summary}.",
            *shown,
            f"Rings of {format_mm(size.wire_mm)} wire and {format_mm(size.inner_mm)} inner "
            f"diameter (aspect ratio {size.aspect_ratio:.2f})"
            + (f", with others of other sizes{_others(rule, size)}." if _mixed(piece) else "."),
            *([_roles(piece)] if metal == ROLES else []),
            "The rings are computed and drawn without the cuts in them.",
            *([] if metal == ROLES else [APPROXIMATION]),
        ]
    )


def _others(rule: WeaveRule, size: RingSize) -> str:
    said = said_rings(rule, size)
    return f" ({'; '.join(said)})" if said else ""


def whole_words(rule: WeaveRule, piece: Piece, repeats: int, laid: Laid | None = None) -> list[str]:
    """What the view of the whole piece shows, pulled straight where it is not laid."""
    made = _counted(repeats, "repeat") if rule.family.repeats else rule.family.called
    how, seen, length_mm = "as it lies on a table", "at a slant from above", piece.length_mm()
    if laid is not None:
        how, length_mm = laid.state.said, laid.lying.size_mm()[0]
        seen = "from in front" if laid.state.hangs else seen
    return [
        f"All of it {how}, {length_mm:.0f} mm long, {made} of "
        f"{_counted(len(piece), 'ring')} in all, seen {seen}.",
        *_restless(laid),
    ]


def close_words(rule: WeaveRule, laid: Laid | None = None) -> list[str]:
    """What the close-up shows, pulled straight where it is not laid."""
    part = "A few repeats from the middle of it" if rule.family.repeats else "It"
    seen = "seen from close by, low over the table, blurred in front and behind"
    if laid is not None:
        seen = f"{laid.state.said}, {'seen from close by' if laid.state.hangs else seen}"
    return [f"{part} {seen}.", *_restless(laid)]


def _restless(laid: Laid | None) -> list[str]:
    """That rings are not quite still, where they are not."""
    if laid is None or laid.lying.settled:
        return []
    return [f"Its rings are not quite at rest: {unsettled(laid)}."]


def worn_words(laid: Laid, fit: Fit, form: bool) -> list[str]:
    """What the view of the worn piece shows."""
    body = laid.state.body
    assert body is not None
    made = f"{_counted(fit.repeats, 'repeat')} of {_counted(len(laid.piece), 'ring')} in all"
    stands = (
        f"a plain matt form that stands for a {body.part}"
        if form
        else f"where a {body.part} would be, which is not shown"
    )
    oval = f", {body.ratio:.3g} times as wide as deep" if body.ratio != 1.0 else ""
    measure = f"The {body.part} measures {body.girth_mm:.4g} mm round{oval}."
    if body.part == NECK:
        seen = [f"A chain {fit.width_mm:.1f} mm wide, {made}, hangs on {stands}.", measure]
        hangs = f"Its ends are behind, and its lowest ring is {fit.sag_mm:.0f} mm below them."
        return [*seen, hangs, *_restless(laid)]
    edge = ", on its edge, since it does not bend so far on its wide side" if fit.on_edge else ""
    worn = f"A band {fit.width_mm:.1f} mm wide, {made}, worn round {stands}{edge}."
    if fit.room_mm is not None:
        loose = (
            f"Closed into itself, it measures {fit.inside_mm:.1f} mm round inside, lies on top and "
            f"hangs {fit.sag_mm:.1f} mm off below, seen from the side and above."
        )
        return [worn, measure, loose, *_restless(laid)]
    ends = (
        f"The band's ends are behind and stand {fit.open_mm:.2g} mm apart, where the clasp goes."
        if fit.goes_round
        else f"It does not go round: its ends stand {fit.open_mm:.0f} mm apart behind."
    )
    return [worn, f"{measure[:-1]}, seen from in front and above.", ends, *_restless(laid)]


def _counted(count: int, what: str) -> str:
    return f"one {what}" if count == 1 else f"{count} {what}s"


def _paint(metal: str) -> str:
    if metal == ROLES:
        return "by the roles of its rings"
    return f"in the colour {metal}" if metal.startswith("#") else f"in {metal}"


def _roles(piece: Piece) -> str:
    kinds = [("open", "opened to weave them"), ("closed", "closed beforehand")]
    return (
        "; ".join(
            f"rings {said} are {role_words(role)}" for role, said in kinds if role in piece.roles
        ).capitalize()
        + "."
    )


def _mixed(piece: Piece) -> bool:
    """Whether there are rings of several sizes."""
    return (
        len(set(zip(piece.core_radii_mm.tolist(), piece.wire_radii_mm.tolist(), strict=True))) > 1
    )
