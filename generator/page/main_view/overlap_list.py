"""Which rings overlap: how many pairs, the worst first, and each shown on the model at a touch."""

from __future__ import annotations

from functools import partial

import numpy as np
from nicegui import ui

from ringwright.page.session import Session
from ringwright.page.widgets.elements import button, words
from ringwright.page.widgets.ring_view import Aim, Mark, RingView
from ringwright.page.worked_out.solve import Overlap, Shown

# A pair stands out from all other rings; after Okabe and Ito (from memory).
_PAIR, _OTHER = ("#d55e00", "#0072b2"), "#b9b5ad"
# More lines are not read any more.
_MOST_LISTED = 40
# So much is seen of the two rings of a pair, in outer diameters.
_ROOM = 3.0


def told(session: Session, shown: Shown) -> str:
    """How many pairs overlap, and which are the worst."""
    worst = shown.overlaps[0]
    depth = session.wanted.units.length(worst.depth_mm)
    if len(shown.overlaps) == 1:
        return f"One pair overlaps, {_named(worst)}, by {depth}"
    return f"{len(shown.overlaps)} pairs overlap, {_named(worst)} the most: by {depth}"


def build(session: Session, shown: Shown) -> None:
    """The list, folded; nothing where no rings overlap."""
    if not shown.overlaps:
        return
    with ui.element("details").classes("key overlaps"):
        words(f"{told(session, shown)}.", "summary")
        words("Touch a pair to see it.").classes("hint")
        with ui.element("ol"):
            for one in shown.overlaps[:_MOST_LISTED]:
                with ui.element("li"):
                    depth = session.wanted.units.length(one.depth_mm)
                    said = f"{_named(one).capitalize()}: {depth}"
                    button(said, partial(session.on_pointed.tell, one), kind="quiet")
        more = len(shown.overlaps) - _MOST_LISTED
        if more > 0:
            words(f"{more} more overlap less.").classes("hint")


def point_out(view: RingView, shown: Shown, one: Overlap) -> None:
    """Show a pair on the model: both rings in colours of their own, seen from near."""
    piece = shown.piece
    paints = [_OTHER] * len(piece)
    paints[one.first], paints[one.second] = _PAIR
    at_mm = np.array(one.at_mm)
    marks = [Mark(one.at_mm, f"{_named(one)}: {one.depth_mm:.2f} mm", "overlap")]
    view.point_out(paints, marks)
    across_mm = 2.0 * (piece.core_radii_mm + piece.wire_radii_mm)[[one.first, one.second]].max()
    view.look_at(Aim(at_mm, _ROOM * float(across_mm), None))


def _named(one: Overlap) -> str:
    """Two rings by their numbers, as they are measured by and as fields take them."""
    return f"rings {one.first + 1} and {one.second + 1}"
