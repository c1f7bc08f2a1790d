"""The rings that are looked at moved by hand, moment by moment, and at rest on a table."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ringwright.base.arrays import Floats
from ringwright.base.errors import NoRest
from ringwright.base.progress import Progress
from ringwright.falling.goal import Goal, away, ends_apart, weights
from ringwright.geometry.contact import Rings
from ringwright.page.worked_out.at_rest import Lies, about_the_same_middle
from ringwright.piece.piece import Piece, check_piece, expected_links
from ringwright.rest.by_hand import Hand, next_moment
from ringwright.rest.laid import has_ends, laid
from ringwright.rest.start import in_core_radii, set_down
from ringwright.rest.states import AT_THE_END, edges_of, on_table
from ringwright.rest.table import table
from ringwright.solver.climb import Unit
from ringwright.solver.measure import extent
from ringwright.weaves.rule import WeaveRule

# A moment of more rings takes longer than an eye waits.
MOST_PULLED = 250
# What a ring weighs on the move, and how hard a piece is drawn straight once it is let go: in
# core radii that a ring would go by it in a round.
_WEIGHT, _DRAWN = 0.05, 4.0
# However fast the hand goes, a ring is drawn so far at a time, in core radii: farther, its way
# would not be straight enough to be shown so.
_ARM = 0.5
# Rings that move by less than this in a round, in core radii, are still.
_STILL = 2e-3
# Rings go home in strides no longer, in the same unit; so near to where they lay they are shown
# there.
_HOMEWARD, _HOME = 0.35, 0.1
# What has come down with a smaller share of its length has been caught on the way, and so has what
# comes to rest with one.
_NEARLY_DRAWN, _WHOLE_LENGTH = 0.9, 0.98
# Rings that lie so near to where they lay, in core radii and by the cosine between their axes, lie
# there again.
_ABOUT_THERE, _LEANS_ALIKE = 0.5, 0.8
_X, _, _UP = np.eye(3)


@dataclass(frozen=True, eq=False)
class Grip:
    """Where the hand is, in millimetres of the model.

    Attributes
    ----------
    ring : which ring it holds
    taken_mm : (3,) where it took hold of it
    target_mm : (3,) where it draws that place to
    """

    ring: int
    taken_mm: tuple[float, float, float]
    target_mm: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Pulled:
    """A piece that can be pulled.

    Attributes
    ----------
    unit : settled, pulled straight
    straight : some repeats of it
    lies : the same at rest on a table; None where that is not known
    shown : the same as it is shown, one of both
    """

    rule: WeaveRule
    unit: Unit
    straight: Piece
    lies: Lies | None
    shown: Piece


@dataclass(frozen=True, eq=False)
class Moving:
    """Rings on the move: no state of rest.

    Attributes
    ----------
    rings : in units of the mean core radius, on the table z = 0
    falls, drawn : what pulls at them while one is held, and once it is let go
    home : what draws them to where they lay, once it is let go; None where that is not known
    hand : what holds one; None once it is let go
    core_mm, table_mm : the mean core radius, and how high the table lies in the model
    is_still : whether nothing moved any more that could be seen
    is_home : whether they are where they lay before
    """

    rings: Rings
    falls: Goal
    drawn: Goal
    hand: Hand | None
    core_mm: float
    table_mm: float
    home: Goal | None = None
    is_still: bool = False
    is_home: bool = False

    def poses_mm(self) -> NDArray[np.float32]:
        """(n, 6) centre in millimetres of the model, and axis, of every ring."""
        return np.column_stack([self._centres_mm(), self.rings.axes]).astype(np.float32)

    def of(self, piece: Piece) -> Piece:
        """A piece of these rings, where they are now."""
        return replace(piece, centres_mm=self._centres_mm(), axes=self.rings.axes)

    def _centres_mm(self) -> Floats:
        return self.rings.centres * self.core_mm + self.table_mm * _UP

    def place(self, at_mm: tuple[float, float, float]) -> Floats:
        """A place of the model in the units of the rings."""
        return (np.array(at_mm) - self.table_mm * _UP) / self.core_mm


def laid_hold_of(rule: WeaveRule, piece: Piece) -> Moving:
    """A piece that is about to move, on a table as high as its lowest ring reaches."""
    low_mm, _ = extent(piece.rings(), _UP)
    rings, core_mm = in_core_radii(piece)
    rings = set_down(rings)
    weight = np.outer(-_WEIGHT * weights(rings), _UP)
    return Moving(rings, Goal(weight), _drawn(rule, piece, rings, weight), None, core_mm, low_mm)


def homeward(moving: Moving, lies: Lies) -> Moving:
    """A piece that falls back to where it lay, once it is let go.

    It is drawn there ring by ring, none through another; what is caught on the way stays there.
    """
    rings, _ = in_core_radii(lies.piece)
    return replace(moving, home=Goal(moving.falls.forces, target=set_down(rings)))


def _drawn(rule: WeaveRule, piece: Piece, rings: Rings, weight: Floats) -> Goal:
    """A chain drawn straight by its ends, a sheet spread by its edges, a rosette left alone."""
    x, y = rings.centres[:, 0], rings.centres[:, 1]
    if rule.family.has_rows:
        edges = edges_of(piece, rings)
        longest = max(float(np.ptp(x)), float(np.ptp(y)))
        return Goal(weight, edges, _DRAWN * min(edge.sum() for edge in edges) / longest)
    if not has_ends(rule):
        return Goal(weight)
    return Goal(weight + _DRAWN * np.outer(ends_apart(x, AT_THE_END), _X))


def a_moment_later(moving: Moving, grip: Grip | None) -> Moving:
    """Where the rings are in the next picture.

    Parameters
    ----------
    grip : where the hand is now; None where the piece has been let go
    """
    if grip is None and moving.home is not None:
        return _nearer_home(moving, moving.home)
    hand = None if grip is None else _hand(moving, grip)
    goal = moving.drawn if hand is None else moving.falls
    moment = next_moment(moving.rings, goal, (table,), hand)
    is_still = moment.farthest < _STILL
    return replace(moving, rings=moment.rings, hand=moment.hand, is_still=is_still, is_home=False)


def _nearer_home(moving: Moving, home: Goal) -> Moving:
    assert home.target is not None
    moment = next_moment(moving.rings, home, (table,), farthest=_HOMEWARD)
    left = float(np.abs(away(moment.rings, home.target)).max())
    return replace(
        moving,
        rings=moment.rings,
        hand=None,
        is_still=moment.farthest < _STILL,
        is_home=left < _HOME,
    )


def _hand(moving: Moving, grip: Grip) -> Hand:
    """The hand on the place that it took hold of, which has moved with the ring since."""
    held = moving.hand
    point = moving.place(grip.taken_mm) if held is None or held.ring != grip.ring else held.point
    way = moving.place(grip.target_mm) - point
    far = float(np.linalg.norm(way))
    return Hand(grip.ring, point, point + way * min(1.0, _ARM / max(far, 1e-12)))


def settled_again(on_progress: Progress, pulled: Pulled, now: Piece) -> Lies:
    """A piece truly at rest on a table after it was moved by hand.

    One that came down near to where it lay before lies there again. Otherwise a chain rests near
    to where it came down; one that is caught on itself, so that not all of its length comes out,
    is laid down anew, and so is a sheet, which has one way to lie spread.

    Parameters
    ----------
    on_progress : called with (what, done, of)
    now : the same rings, where they came down

    Raises
    ------
    NoRest
        When it did not come to rest.
    """
    rule, straight, state = pulled.rule, pulled.straight, pulled.rule.family.lies
    if pulled.lies is not None and _is_about_there(now, pulled.lies.piece):
        return pulled.lies
    is_drawn = now.length_mm() > _NEARLY_DRAWN * straight.length_mm()
    if is_drawn and has_ends(rule):
        name = f"{rule.name}, {state.said}"
        lying = on_table(straight, lambda done, of: on_progress(name, done, of), now)
        if lying.settled and _is_drawn_out(rule, straight, lying.piece):
            return Lies(about_the_same_middle(straight, lying.piece), state.said)
    found = laid(rule, pulled.unit, straight, state, on_progress)
    if not found.lying.settled:
        raise NoRest(f"{rule.name} did not come to rest {state.said}.")
    return Lies(about_the_same_middle(straight, found.piece), state.said)


def _is_about_there(one: Piece, other: Piece) -> bool:
    """Whether every ring lies about where another one does, up to a shift of all."""
    apart = other.centres_mm - one.centres_mm
    apart -= apart.mean(axis=0)
    far = float(np.linalg.norm(apart, axis=1).max()) / float(one.core_radii_mm.mean())
    leans = np.abs(np.einsum("ni,ni->n", one.axes, other.axes))
    return far < _ABOUT_THERE and float(leans.min()) > _LEANS_ALIKE


def _is_drawn_out(rule: WeaveRule, straight: Piece, lying: Piece) -> bool:
    """Whether it is linked as it is woven, and all of its length is out."""
    if check_piece(lying).links != expected_links(rule, straight):
        return False
    return lying.length_mm() > _WHOLE_LENGTH * straight.length_mm()
