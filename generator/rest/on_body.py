"""Pieces worn: on a wrist or a finger with their ends together or as a band, on a neck hanging."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress, Tally, quiet, tallied, uncounted
from ringwright.geometry.oval import Oval
from ringwright.piece.piece import Piece
from ringwright.rest.band import ARM, band, repeats_of, strip
from ringwright.rest.fit import Fit, fit_of
from ringwright.rest.form import Column, Cone
from ringwright.rest.necklace import SLOPE_DEG, necklace
from ringwright.rest.states import Lying
from ringwright.rest.unit import as_the_unit_lies, can_lie, lying_unit
from ringwright.rest.worn import FEWEST, TooLong, fitting, worn
from ringwright.solver.climb import Unit
from ringwright.weaves.rest_states import NECK, Body
from ringwright.weaves.rule import WeaveRule


@dataclass(frozen=True, eq=False)
class Worn:
    """A piece at rest on somebody, and how it fits."""

    lying: Lying
    fit: Fit


def worn_on(rule: WeaveRule, unit: Unit, piece: Piece, body: Body, told: Tally = uncounted) -> Worn:
    """A piece worn: on a neck as a necklace; round a wrist or finger closed, if it is long enough.

    What goes round as a band, its repeats closed into themselves without the rings it was started
    from, hangs over the form; what is shorter has its ends drawn to one another.

    Parameters
    ----------
    unit : settled, pulled straight
    piece : some repeats of it
    told : called with (done, of) in every round

    Raises
    ------
    BadInput
        When it is too short for a neck, does not go round so small a form, or has fewer than three
        repeats.
    """
    if repeats_of(piece) < FEWEST:
        raise BadInput(
            f"{repeats_of(piece)} repeats are too few for {rule.name} to be worn; take {FEWEST} or "
            "more."
        )
    lies, near = unit, None
    if _lies_alike(unit):
        lies = lying_unit(unit).unit
        near = as_the_unit_lies(rule, piece, lies)
    if body.part == NECK:
        bust = Cone(body.girth_mm / (2.0 * math.pi), math.radians(SLOPE_DEG))
        lying = necklace(piece, body.girth_mm, SLOPE_DEG, told, near)
        return Worn(lying, fit_of(lying.piece, bust, closed=False))
    oval = Oval(body.girth_mm, body.ratio)
    closed = strip(rule, lies, piece)
    if closed.round_mm >= oval.girth:
        lying = band(closed, oval, told)
        return Worn(lying, fit_of(lying.piece, Column(oval, ARM, np.zeros(3)), closed=True))
    try:
        lying = worn(piece, oval, told, near)
    except TooLong:
        repeat_mm = closed.repeat_mm
        raise BadInput(
            f"a piece of {piece.length_mm():.1f} mm is too long to lie round {body.said} with its "
            f"ends apart, and too short to be closed round it; take {repeat_mm:.1f} mm more or "
            "less."
        ) from None
    return Worn(lying, fit_of(lying.piece, Column(oval, np.eye(3), np.zeros(3)), closed=False))


def snug(
    rule: WeaveRule,
    unit: Unit,
    core_radius_mm: float,
    body: Body,
    rows: int = 1,
    on_progress: Progress = quiet,
) -> Piece:
    """The longest piece of whole repeats that goes round a wrist or a finger with its ends open.

    Parameters
    ----------
    unit : settled, in units of the core radius
    core_radius_mm : that unit in millimetres
    rows : of a sheet
    on_progress : called with (what, done, of)

    Raises
    ------
    BadInput
        When it is to be a necklace, which is as long as one likes; or does not bend so far.
    """
    if body.part == NECK:
        raise BadInput(
            "a necklace is as long as one likes, and no length was given: give --length, where "
            "there is one, or --wrist or --finger in place of --neck."
        )
    oval = Oval(body.girth_mm, body.ratio)
    with tallied(f"{rule.name}, how much goes round", on_progress) as told:
        return fitting(rule, unit, core_radius_mm, oval, rows, told)


def _lies_alike(unit: Unit) -> bool:
    """Whether a piece lies on a table as its unit does; a sheet is drawn straight by its rows."""
    return can_lie(unit) and not unit.lattice.kind.has_rows
