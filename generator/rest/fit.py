"""How a worn piece fits: whether it goes round, how long it is inside, what hangs free."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.oval import Oval
from ringwright.geometry.vectors import cross, lengths, lengths_along
from ringwright.piece.piece import Piece, place_in_weave
from ringwright.rest.form import Column, Cone
from ringwright.solver.measure import extent

# Points of a core circle that tell how far it reaches.
_AROUND = 90
# Points between two of a smooth line.
_FINE = 32
# What is narrower than thick by more lies on its edge.
_NARROWER = 0.9


@dataclass(frozen=True, eq=False)
class Fit:
    """A worn piece against what it is worn on; lengths in millimetres.

    Attributes
    ----------
    form : what it is worn on, in millimetres
    repeats : whole repeats
    closed : whether it is closed into itself
    goes_round : whether it reaches all round: between its ends is no room for another repeat
    open_mm : between its ends along the form; None where it is closed, or on a bust
    inside_mm : all round inside it; where it has ends, along the form from end to end, and on a
        bust from the first repeat to the last
    room_mm : how much longer that is than the form is round; None where it has ends
    sag_mm : how far its inside is from the form at the farthest place; on a bust, how far its
        lowest metal is below its ends
    inner_girth_mm : of the thickest form that it goes round so, none of its rings inside that; None
        on a bust
    turns_deg : the least and the most that a repeat is turned against the one before
    on_edge : whether it lies on its narrow side
    along_mm, width_mm, thickness_mm : from repeat to repeat through their middles; and along and
        away from the form, the mean of all repeats but the end ones
    """

    form: Column | Cone
    repeats: int
    closed: bool
    goes_round: bool
    open_mm: float | None
    inside_mm: float
    room_mm: float | None
    sag_mm: float
    inner_girth_mm: float | None
    turns_deg: tuple[float, float]
    on_edge: bool
    along_mm: float
    width_mm: float
    thickness_mm: float

    @property
    def closed_after(self) -> int:
        """Repeats after which it is closed into itself; 0 for one with ends."""
        return self.repeats if self.closed else 0


def fit_of(piece: Piece, form: Column | Cone, closed: bool) -> Fit:
    """Measure a piece that is worn.

    Parameters
    ----------
    piece : at rest on the form, in millimetres; three repeats or more
    form : a column, upright about the z axis where the piece has ends; or a bust with the ends at
        z = 0
    closed : whether its last repeat is linked with its first
    """
    from scipy.ndimage import maximum_filter1d, minimum_filter1d, uniform_filter1d

    number = np.array([place_in_weave(name)[1][0] for name in piece.names])
    whole, number = piece.of(number >= 0), number[number >= 0]
    repeats = int(number.max()) + 1
    middle = np.array([whole.centres_mm[number == one].mean(axis=0) for one in range(repeats)])
    nearby = _nearby(whole, middle)
    if closed and nearby > 1:
        # The line about which it winds.
        middle = uniform_filter1d(middle, nearby, axis=0, mode="wrap")
    onward = np.gradient(middle, axis=0)
    if closed:
        onward = np.roll(middle, -1, axis=0) - np.roll(middle, 1, axis=0)
    out = form.away(middle).outward
    across = cross(out, onward / np.linalg.norm(onward, axis=1)[:, None])
    mode = "wrap" if closed else "nearest"
    (inner, outer), (left, right) = (
        (minimum_filter1d(low, nearby, mode=mode), maximum_filter1d(high, nearby, mode=mode))
        for low, high in (_reach(whole, number, middle, ways) for ways in (out, across))
    )
    inside = middle + inner[:, None] * out
    along_mm, inside_mm = _length(middle, closed), _length(inside, closed)
    open_mm, room_mm, inner_girth_mm, goes_round = None, None, None, True
    if isinstance(form, Column):
        sag_mm = max(0.0, float(form.away(inside).distance.max()))
        if closed:
            room_mm, inner_girth_mm = inside_mm - form.oval.girth, inside_mm
        else:
            low, high = along_oval(piece, form.oval)
            open_mm = low + form.oval.girth - high
            inside_mm = form.oval.girth - open_mm
            spare_mm = 2.0 * float(piece.wire_radii_mm.max())
            inner_girth_mm = form.oval.girth + 2.0 * np.pi * _free_mm(piece, form)
            goes_round = open_mm < along_mm / (repeats - 1) + spare_mm
    else:
        lowest_mm, _ = extent(piece.rings(), np.array([0.0, 0.0, 1.0]))
        sag_mm = -lowest_mm
    some = slice(None) if closed else slice(1, -1)
    width_mm, thickness_mm = (float(span[some].mean()) for span in (right - left, outer - inner))
    return Fit(
        form=form,
        repeats=repeats,
        closed=closed,
        goes_round=goes_round,
        open_mm=open_mm,
        inside_mm=inside_mm,
        room_mm=room_mm,
        sag_mm=sag_mm,
        inner_girth_mm=inner_girth_mm,
        turns_deg=_turns_deg(onward, closed),
        on_edge=width_mm < _NARROWER * thickness_mm,
        along_mm=along_mm,
        width_mm=width_mm,
        thickness_mm=thickness_mm,
    )


def _nearby(piece: Piece, middle: Floats) -> int:
    """How many repeats are as long as two rings, where one is shorter than a ring.

    What winds reaches out another way in each of them, and lies no farther in than they all do.
    """
    repeat_mm = float(np.linalg.norm(np.diff(middle, axis=0), axis=1).mean())
    ring_mm = 2.0 * float((piece.core_radii_mm + piece.wire_radii_mm).max())
    return 1 if repeat_mm >= ring_mm else min(math.ceil(2.0 * ring_mm / repeat_mm), len(middle))


def _reach(piece: Piece, number: Ints, middle: Floats, ways: Floats) -> tuple[Floats, Floats]:
    """How far the rings of every repeat reach along a way of its own from its middle."""
    low, high = _metal(piece, ways[number])
    from_middle = np.einsum("ni,ni->n", middle, ways)
    repeats = range(len(middle))
    return (
        np.array([low[number == one].min() for one in repeats]) - from_middle,
        np.array([high[number == one].max() for one in repeats]) - from_middle,
    )


def _metal(piece: Piece, ways: Floats) -> tuple[Floats, Floats]:
    """From where to where each ring's metal reaches along a way of its own, (n, 3)."""
    at = np.sum(piece.centres_mm * ways, axis=1)
    lean = np.sqrt(np.maximum(0.0, 1.0 - np.sum(piece.axes * ways, axis=1) ** 2))
    reach = piece.core_radii_mm * lean + piece.wire_radii_mm
    return at - reach, at + reach


def _length(points: Floats, closed: bool) -> float:
    """The length of a smooth line through points, round to the first where it is closed."""
    from scipy.interpolate import CubicSpline

    points = np.vstack([points, points[:1]]) if closed else points
    at = lengths_along(points)
    line = CubicSpline(at, points, bc_type="periodic" if closed else "natural")
    fine = np.asarray(line(np.linspace(0.0, at[-1], _FINE * len(points))))
    return float(lengths(np.diff(fine, axis=0)).sum())


def _turns_deg(onward: Floats, closed: bool) -> tuple[float, float]:
    ways = onward / np.linalg.norm(onward, axis=1)[:, None]
    # End repeats have a neighbour on one side only.
    ways = np.vstack([ways, ways[:1]]) if closed else ways[1:-1]
    turns = np.degrees(np.arccos(np.clip(np.sum(ways[1:] * ways[:-1], axis=1), -1.0, 1.0)))
    return float(turns.min(initial=180.0)), float(turns.max(initial=0.0))


def _free_mm(piece: Piece, form: Column) -> float:
    """How far the nearest metal is from a form."""
    away = form.away(piece.rings().core_points(_AROUND).reshape(-1, 3)).distance
    return float((away - np.repeat(piece.wire_radii_mm, _AROUND)).min())


def along_oval(piece: Piece, oval: Oval) -> tuple[float, float]:
    """From where to where along an oval the metal of a piece about the z axis reaches.

    Returns
    -------
    Lengths along the oval from behind, in the piece's unit.
    """
    _, _, along = oval.clearance(piece.rings().core_points(_AROUND).reshape(-1, 3))
    wires = np.repeat(piece.wire_radii_mm, _AROUND)
    return float((along - wires).min()), float((along + wires).max())
