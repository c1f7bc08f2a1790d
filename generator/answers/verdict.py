"""Whether a wire and ring size closes a weave, and how comfortably."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ringwright.answers.minimums import kept_minimums, with_other_shapes
from ringwright.answers.partners import Partner
from ringwright.answers.ratio_limits import SAME, RatioLimits
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.progress import Tally, uncounted
from ringwright.base.sizes import RingSize
from ringwright.falling.at_rest import AT_REST
from ringwright.geometry.contact import close_pairs, contacts
from ringwright.piece.piece import Piece, expected_links, woven_piece
from ringwright.piece.verify import meshes_collide, second_opinion
from ringwright.solver.climb import Unit
from ringwright.solver.measure import all_round, width_and_thickness
from ringwright.solver.settle import Settled, settle
from ringwright.solver.shapes import other_shape
from ringwright.solver.tightest import Tightest, known_tightest
from ringwright.weaves.rule import Image, Minimums, WeaveRule

# Repeats laid out, along and across, for the second look at a settled state.
_CONFIRMED_REPEATS = 4
# For a full turn of a screw so many at most; one that turns less is nearly straight.
_MOST_CONFIRMED = 30
_BY_SAMPLING, _BY_MESHES = "sampling", "triangle meshes (FCL)"
# Facets stand out from the inside of a ring by up to 0.0006 core radii, and loaded rings touch,
# so the wires are thinned by a little more than that for the look at the meshes.
_MESH_SLACK = 2e-3


@dataclass(frozen=True)
class Collision:
    """Two rings that overlap at best, named as in the rule."""

    first: str
    second: str
    image: Image
    overlap_mm: float


@dataclass(frozen=True, eq=False)
class Report:
    """Everything :func:`check` found out; lengths in millimetres.

    Attributes
    ----------
    limits : what the verdict is taken from
    smallest_gap_mm : between any two rings as they rest, pulled straight (loaded
        rings touch, so about 0); where the weave cannot be woven, the least overlap
        that is left at best, as a negative number
    room_mm : the gap there would be between every two rings if all were spaced out
        as evenly as they can be; negative where the weave cannot be woven
    repeat_mm, width_mm, thickness_mm, settled : None where it cannot be woven; a
        finished piece has no repeat
    collisions : which rings are in each other's way where it cannot be woven
    confirmed_by : the second looks that agreed with the settled state; none where it
        cannot be woven
    partners : which rings of one size work with those of the others; None where that was
        not asked
    kept : what the rule's file keeps of its minimums, unless that is out of date or of another
        size
    known : these, or those searched for now because the file keeps none
    shape : how the chain lies where it only closes in another shape than the rule's, such as
        "curled into a screw"; ``rule`` is then the rule laid so, and ``tightest`` of that shape
    """

    rule: WeaveRule
    size: RingSize
    limits: RatioLimits
    tightest: Tightest
    settled: Settled | None
    smallest_gap_mm: float
    room_mm: float
    repeat_mm: float | None
    width_mm: float | None
    thickness_mm: float | None
    collisions: tuple[Collision, ...]
    confirmed_by: tuple[str, ...] = ()
    partners: tuple[Partner, ...] | None = None
    kept: Minimums | None = None
    known: Minimums | None = None
    shape: str | None = None

    @property
    def verdict(self) -> str:
        """One of the five texts of :mod:`ringwright.answers.ratio_limits`."""
        return self.limits.verdict(self.size.aspect_ratio)

    @property
    def needs_passing_through(self) -> bool:
        """Whether the rule's placement seems to lie over and under the wrong way round.

        Makers then weave it of tighter rings than it closes with in the rule's lay, and
        rings, which never pass through each other here, could only get from the one
        to the other by doing so. (The other explanation is rings that flex.)
        """
        common = self.rule.common_aspect_ratio
        return common is not None and self.limits.minimum > common.low

    @property
    def as_laid(self) -> float:
        """The smallest aspect ratio in the shape of the rule's own placement."""
        if self.shape is not None and self.known is not None:
            return self.known.as_laid
        return self.tightest.aspect_ratio

    @property
    def can_be_woven(self) -> bool:
        """Whether the weave closes at just this size; at the limit it may do either."""
        return self.settled is not None

    @property
    def rings_per_cm(self) -> float | None:
        """Rings in a centimetre of the chain."""
        return None if self.repeat_mm is None else 10 * self.rule.rings_per_repeat / self.repeat_mm

    @property
    def unit(self) -> Unit:
        """The settled unit, in units of the core radius.

        Raises
        ------
        NoRest
            Where the weave cannot be woven.
        """
        if self.settled is None:
            raise NoRest("a weave that cannot be woven has no settled unit")
        return self.settled.unit


def check(
    rule: WeaveRule,
    size: RingSize,
    on_progress: Tally = uncounted,
    limit: Tightest | None = None,
    near: Unit | None = None,
    meshes: bool = False,
    on_settled: Callable[[Unit], None] | None = None,
    workers: int | None = None,
) -> Report:
    """Settle a weave at a size and judge it.

    Parameters
    ----------
    rule, size : what to weave, of which rings
    on_progress : called with (done, of) while the tightest ring is looked for
    limit : the tightest ring, where it is known already; it is the same for every size
        unless the rule fixes rings in millimetres
    near : the settled unit of a neighbouring size, to start from
    meshes : also have the settled rings confirmed as triangle meshes, by the FCL library
    on_settled : have the rings settled first, and be given them, so that something can be
        done with them while the tightest ring is looked for; it is not called where
        that does not lead to rest
    workers : processes to look for the tightest ring, one per core if None; with 0 this one

    Raises
    ------
    BadInput
        When the rule's placement does not have the rule's links, or FCL is not installed.
    NoRest
        When the weave exists at this size but the solver reached no resting place, or
        one that a second look by sampling does not confirm.
    """
    early = None
    if on_settled is not None:
        early = settle(rule, size, near=near, on_rest=on_settled)
        early = early if early is not None and early.converged else None
    limit = limit or known_tightest(rule, size, on_progress=on_progress, workers=workers)
    limit = with_other_shapes(rule, [size], limit)
    thickest_mm = 2 * size.core_radius_mm / (limit.aspect_ratio + 1)
    room_mm = thickest_mm - size.wire_mm
    limits = limits_of(rule, size, limit)
    kept = kept_minimums(rule, size, limit)
    known = kept or limit.searched
    shape = None
    if size.aspect_ratio < limit.aspect_ratio - SAME and limits.closes(size.aspect_ratio):
        shape = other_shape(rule, size, known)
        if shape is not None:
            rule, limit = shape.rule, shape.tightest
            early = near = None
            thickest_mm = 2 * size.core_radius_mm / (limit.aspect_ratio + 1)
            room_mm = thickest_mm - size.wire_mm
    if size.aspect_ratio < limit.aspect_ratio - SAME:
        blocked = _collisions(rule, limit, -room_mm)
        return Report(
            rule=rule,
            size=size,
            limits=limits,
            tightest=limit,
            settled=None,
            smallest_gap_mm=room_mm,
            room_mm=room_mm,
            repeat_mm=None,
            width_mm=None,
            thickness_mm=None,
            collisions=blocked,
            kept=kept,
            known=known,
        )
    settled = early or settle(rule, size, limit.unit, near)
    if settled is None:
        raise NoRest(
            f"{rule.name} closes at aspect ratio {size.aspect_ratio:.4g}, but no resting position "
            "was found from any starting placement; try a slightly larger ring."
        )
    unit = settled.unit
    confirmed_by = _confirm(rule, size, settled, meshes)
    width, thickness = width_and_thickness(all_round(unit))
    scale = size.core_radius_mm
    return Report(
        rule=rule,
        size=size,
        limits=limits,
        tightest=limit,
        settled=settled,
        smallest_gap_mm=smallest_gap(unit) * scale,
        room_mm=room_mm,
        repeat_mm=unit.repeat * scale if len(unit.lattice.values) else None,
        width_mm=width * scale,
        thickness_mm=thickness * scale,
        collisions=(),
        confirmed_by=confirmed_by,
        kept=kept,
        known=known,
        shape=None if shape is None else shape.said,
    )


def limits_of(rule: WeaveRule, size: RingSize, tight: Tightest) -> RatioLimits:
    """What is asked of rings of this size: computed, kept in the rule's file, and in use."""
    known = kept_minimums(rule, size, tight) or tight.searched
    if known is None:
        return RatioLimits(tight.aspect_ratio, None, rule.common_aspect_ratio)
    # The rule's own shape is searched for anew, any other is as it was kept.
    least = tight.aspect_ratio if known.shape is None else min(tight.aspect_ratio, known.geometric)
    return RatioLimits(least, known.working, rule.common_aspect_ratio)


def _confirm(rule: WeaveRule, size: RingSize, settled: Settled, meshes: bool) -> tuple[str, ...]:
    """A settled state checked by means of its own: sampled gaps, links counted afresh."""
    if not settled.converged:
        raise NoRest(
            f"{rule.name} at aspect ratio {size.aspect_ratio:.4g}: the forces between the rings "
            f"balance the pull only to {settled.certificate.residual:.1e} of it, and {AT_REST:.0e} "
            "counts as rest, so no figures are given; try a slightly different size."
        )
    scale = size.core_radius_mm
    repeats = _repeats_to_confirm(settled.unit)
    piece = woven_piece(rule, settled.unit, scale, repeats, _CONFIRMED_REPEATS)
    opinion = second_opinion(piece)
    if opinion.smallest_gap_mm < -1e-6 * scale:
        raise NoRest(
            f"{rule.name} at aspect ratio {size.aspect_ratio:.4g}: a second look found rings that "
            f"overlap by {-opinion.smallest_gap_mm:.2g} mm, so no figures are given; try a "
            "slightly different size."
        )
    if opinion.links != expected_links(rule, piece):
        raise NoRest(
            f"{rule.name} at aspect ratio {size.aspect_ratio:.4g}: a second look counted other "
            "links than the rule's, so no figures are given; try a slightly different size."
        )
    if not meshes:
        return (_BY_SAMPLING,)
    if _meshes_collide(piece, _MESH_SLACK * scale):
        raise NoRest(
            f"{rule.name} at aspect ratio {size.aspect_ratio:.4g}: as triangle meshes, rings "
            "overlap, so no figures are given; try a slightly different size."
        )
    return (_BY_SAMPLING, _BY_MESHES)


def _repeats_to_confirm(unit: Unit) -> int:
    """So many that a screw goes round more than once: rings a full turn on may lie near."""
    if not unit.lattice.kind.is_wound:
        return _CONFIRMED_REPEATS
    turn = max(abs(float(unit.lattice.values[1])), 2 * np.pi / _MOST_CONFIRMED)
    return max(_CONFIRMED_REPEATS, int(np.ceil(2 * np.pi / turn)) + 2)


def _meshes_collide(piece: Piece, slack_mm: float) -> bool:
    try:
        return meshes_collide(piece, slack_mm)
    except ImportError as error:
        raise BadInput(
            "--meshes needs the package python-fcl, which is not installed; add it with: pip "
            "install 'python-fcl>=0.7.0.8', or leave the option out."
        ) from error


def smallest_gap(unit: Unit) -> float:
    """The least gap between any two rings of a chain, in the unit's own unit of length."""
    rings = unit.rings
    reach = 2 * float(rings.core_radii.max())
    pairs = close_pairs(rings, reach, unit.lattice)
    return float(contacts(rings, pairs, unit.lattice).gap.min(initial=np.inf))


def _collisions(rule: WeaveRule, limit: Tightest, overlap_mm: float) -> tuple[Collision, ...]:
    """The pairs that carry force at the tightest, where any thicker wire overlaps."""
    held = limit.certificate
    least = 1e-3 * float(held.forces.max(initial=0.0))
    return tuple(
        Collision(
            rule.rings[i].name, rule.rings[j].name, (int(image[0]), int(image[1])), overlap_mm
        )
        for i, j, image, force in zip(
            held.pairs.first, held.pairs.second, held.pairs.image, held.forces, strict=True
        )
        if force > least
    )
