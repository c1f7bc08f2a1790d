"""Giant sample: some repeats of a weave, enlarged, printed in place with the rings apart."""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from generator.errors import BadInput
from generator.sizes import RingSize
from jigs.jig import ORANGE, SKY, Jig, Mating, Part, Placed
from jigs.printing import Printer

if TYPE_CHECKING:
    import cadquery as cq

    from generator.piece import Piece
    from generator.verdict import Report
    from weaves.rule import WeaveRule

NAME = "giant-sample"

# Printed wire thinner than this breaks when rings are bent or pulled. Common practice, no source.
_LEAST_WIRE_MM = 4.0
# Share of the room between the rings that the gap may take; the rest lets them move.
_SHARE = 0.7
_SCALE_STEP = 0.1
_LARGEST = 200.0
_MOST_RINGS = 80
_REPEATS, _SHEET_REPEATS = 2, 3
# The lowest rings get a flat so that they stick to the bed.
_FLAT_MM = 0.5
_TRIES = 4


@dataclass(frozen=True, eq=False)
class GiantSample:
    """The sample's dimensions.

    Attributes
    ----------
    weave : its name
    size : the true ring
    scale : how many times as large it is printed
    gap_mm : that was kept between any two rings of the print
    smallest_mm : between any two rings, by their circles
    between_mm : between any ring to open and any closed one; infinite without both
    piece : the printed rings, enlarged, the lowest at z = 0
    flat_mm : how much is cut off below
    room_mm : across the bed, along and up
    """

    weave: str
    size: RingSize
    scale: float
    gap_mm: float
    smallest_mm: float
    between_mm: float
    piece: Piece
    flat_mm: float
    room_mm: tuple[float, float, float]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Give the command this jig's options."""
    from jigs.options import add_woven

    add_woven(parser)
    parser.add_argument(
        "--gap",
        metavar="SIZE",
        help="gap between printed rings (default: twice the printer's clearance)",
    )
    parser.add_argument(
        "--scale", type=float, metavar="TIMES", help="how many times as large (default: least)"
    )
    parser.add_argument(
        "--repeats", type=int, metavar="N", help="repeats (default 2, of a sheet 3)"
    )
    parser.add_argument("--rows", type=int, metavar="N", help="rows of a sheet (default 3)")


def from_options(options: argparse.Namespace, printer: Printer) -> Jig:
    """The jig that was asked for."""
    from generator.sizes import parse_length
    from jigs.options import asked_weave

    gap_mm = None if options.gap is None else parse_length(options.gap, "gap")
    report = asked_weave(options)
    made = dimensions(report, printer, gap_mm, options.scale, options.repeats, options.rows)
    return build(made)


def dimensions(
    report: Report,
    printer: Printer,
    gap_mm: float | None = None,
    scale: float | None = None,
    repeats: int | None = None,
    rows: int | None = None,
) -> GiantSample:
    """The sample of a weave, settled with the gap kept between all rings.

    Every wire is thickened by the gap, as it is at the true size, on the same core circles; the
    weave is settled with that; then the true wires are put back. So no two rings are nearer than
    the gap, and those that carry the pull are just that far apart.

    Parameters
    ----------
    report : the weave at its true size
    gap_mm : between printed rings; twice the printer's clearance if None
    scale : how many times as large; if None, the least at which the gap leaves the rings room
        to move and the printed wire is 4 mm
    repeats, rows : how many; by default 2, of a sheet 3

    Raises
    ------
    BadInput
        Where the weave has no room for the gap at this aspect ratio, or the print is too large.
    NoRest
        When the solver finds no resting place for the thickened wires.
    """
    if gap_mm is None:
        gap_mm = 2.0 * printer.clearance_mm
    if gap_mm < printer.clearance_mm:
        raise BadInput(
            f"a gap of {gap_mm:g} mm is less than the printer's clearance of "
            f"{printer.clearance_mm:g} mm: the rings would fuse; give a larger --gap."
        )
    usual = _SHEET_REPEATS if report.rule.family == "sheet" else _REPEATS
    repeats = usual if repeats is None else repeats
    rows = usual if rows is None else rows
    if not 1 <= repeats <= _MOST_RINGS or not 1 <= rows <= _MOST_RINGS:
        raise BadInput(f"--repeats and --rows are 1 to {_MOST_RINGS}.")
    rule, size = report.rule, report.size
    times = _least_scale(report, gap_mm) if scale is None else scale
    if not 1.0 <= times <= _LARGEST:
        raise BadInput(
            f"{rule.name} at aspect ratio {size.aspect_ratio:.3g} has {report.room_mm:.2g} mm of "
            f"room between its rings: for a gap of {gap_mm:g} mm it would have to be "
            f"{times:.3g} times as large, where 1 to {_LARGEST:g} can be made; take a larger ring."
        )
    settled, times = _settled(report, gap_mm, times, adjust=scale is None)
    return _enlarged(report, settled, times, gap_mm, (repeats, rows), printer)


def _settled(report: Report, gap_mm: float, times: float, adjust: bool) -> tuple[Report, float]:
    """The weave settled in thickened wires, and the scale: a larger one where it may ``adjust``."""
    from generator.verdict import check

    rule, size = report.rule, report.size
    others = any(ring.size is not None for ring in rule.rings)
    for attempt in range(_TRIES):
        thicker_mm = gap_mm / times
        thick_rule, thick = _thickened(rule, size, thicker_mm)
        if thick.inner_mm > thick.wire_mm:
            found = check(thick_rule, thick, limit=None if others else report.tightest)
            if found.can_be_woven:
                return found, times
        if not adjust or attempt == _TRIES - 1:
            break
        times = _rounded(1.4 * times)
    raise BadInput(
        f"{rule.name} at aspect ratio {size.aspect_ratio:.3g}, {times:.3g} times as large, has no "
        f"room for a gap of {gap_mm:g} mm; give a larger --scale or ring."
    )


def _least_scale(report: Report, gap_mm: float) -> float:
    """The least scale with room for the gap, and with wire that does not break."""
    if report.room_mm <= 1e-6:
        return math.inf
    size = report.size
    return _rounded(max(gap_mm / (_SHARE * report.room_mm), _LEAST_WIRE_MM / size.wire_mm, 1.0))


def _rounded(scale: float) -> float:
    return round(math.ceil(scale / _SCALE_STEP - 1e-9) * _SCALE_STEP, 6)


def _thickened(rule: WeaveRule, size: RingSize, by_mm: float) -> tuple[WeaveRule, RingSize]:
    """The weave with every wire thicker, on the same core circles."""
    rings = []
    for ring in rule.rings:
        other = ring.size
        if other is not None:
            if other.wire_mm is not None and other.inner_mm is not None:
                wire_mm, inner_mm = other.wire_mm, other.inner_mm
            else:
                wire_mm = size.wire_mm * other.wire
                inner_mm = 2.0 * size.core_radius_mm * other.core - wire_mm
            other = replace(
                other, core=1.0, wire=1.0, wire_mm=wire_mm + by_mm, inner_mm=inner_mm - by_mm
            )
        rings.append(replace(ring, size=other))
    thick = RingSize(size.wire_mm + by_mm, size.inner_mm - by_mm)
    return replace(rule, rings=tuple(rings), computed=None), thick


def _enlarged(
    report: Report,
    settled: Report,
    scale: float,
    gap_mm: float,
    counts: tuple[int, int],
    printer: Printer,
) -> GiantSample:
    """The settled rings in their true wire, enlarged, on the bed."""
    import numpy as np

    from generator.measure import extent
    from generator.piece import woven_piece

    rule, size = report.rule, report.size
    core_mm = settled.size.core_radius_mm * scale
    piece = woven_piece(settled.rule, settled.unit, core_mm, *counts)
    if len(piece) > _MOST_RINGS:
        raise BadInput(
            f"{len(piece)} rings are more than the {_MOST_RINGS} of a sample; give fewer "
            "--repeats or --rows."
        )
    # The true wire: each surface steps back by half the gap.
    piece = replace(piece, wire_radii_mm=piece.wire_radii_mm - gap_mm / 2.0)
    ways = np.eye(3)
    ends = [extent(piece.rings(), way) for way in ways]
    room_mm = tuple(high - low for low, high in ends)
    if (
        any(
            size_mm > bed
            for size_mm, bed in zip(sorted(room_mm[:2]), sorted(printer.bed_mm[:2]), strict=True)
        )
        or room_mm[2] > printer.bed_mm[2]
    ):
        sizes = " x ".join(f"{each:.0f}" for each in room_mm)
        raise BadInput(
            f"{rule.name} at aspect ratio {size.aspect_ratio:.3g} has {report.room_mm:.2g} mm of "
            f"room between its rings; for a gap of {gap_mm:g} mm it is printed {scale:g} times "
            f"as large, {sizes} mm, which does not fit the bed: give fewer --repeats or --rows, "
            "or take a larger ring."
        )
    shift = np.array([*(-sum(end) / 2.0 for end in ends[:2]), -ends[2][0]])
    piece = replace(piece, centres_mm=piece.centres_mm + shift)
    smallest_mm, between_mm = _gaps(piece)
    return GiantSample(
        weave=rule.name,
        size=size,
        scale=scale,
        gap_mm=gap_mm,
        smallest_mm=smallest_mm,
        between_mm=between_mm,
        piece=piece,
        flat_mm=min(_FLAT_MM, 0.15 * 2.0 * float(piece.wire_radii_mm.min())),
        room_mm=(room_mm[0], room_mm[1], room_mm[2]),
    )


def _gaps(piece: Piece) -> tuple[float, float]:
    """The smallest gap between any two rings, and between rings of the two roles."""
    import numpy as np

    from generator.contact import close_pairs, contacts

    rings = piece.rings()
    found = contacts(rings, close_pairs(rings, float(rings.core_radii.max())))
    opened = np.array([role == "open" for role in piece.roles])
    mixed = opened[found.pairs.first] != opened[found.pairs.second]
    return (
        float(found.gap.min(initial=math.inf)),
        float(found.gap[mixed].min(initial=math.inf)),
    )


def build(sample: GiantSample) -> Jig:
    """The jig of these dimensions."""
    import cadquery as cq

    solids = list(_tori(sample))
    whole = cq.Compound.makeCompound(solids)
    roles = [role for role in ("open", "closed") if role in sample.piece.roles]
    parts = []
    for role in roles:
        mine = [
            solid for solid, other in zip(solids, sample.piece.roles, strict=True) if other == role
        ]
        parts.append(
            Part(
                f"{role}-rings",
                cq.Compound.makeCompound(mine),
                ORANGE if role == "open" else SKY,
                volumes=len(mine),
                together=whole,
                supports=True,
                note=_note(roles),
            )
        )
    apart = {"open": (0.0, 0.0, 0.0), "closed": (0.0, 0.0, 1.3 * sample.room_mm[2])}
    mating: tuple[Mating, ...] = ()
    if len(roles) == 2 and math.isfinite(sample.between_mm):
        what = "printed in place"
        mating = (Mating("open-rings", "closed-rings", round(sample.between_mm, 6), what),)
    return Jig(
        name=NAME,
        title="Giant sample",
        parts=tuple(parts),
        bought=(),
        placed=tuple(
            Placed(part.name, part.name, cq.Location(), apart[role])
            for part, role in zip(parts, roles, strict=True)
        ),
        mating=mating,
        use=(
            "Load all parts into the slicer as one object, so that they keep their places; print "
            "them in two colours, or in one.",
            "Turn supports on everywhere. Break them away with pliers from the outside in, then "
            "work every ring loose in turn; do not twist the sample as a whole.",
            "Orange rings are those that are opened to weave, blue ones stay closed. To learn the "
            "order of assembly, saw through an orange ring and hook it out and in again.",
        ),
        cautions=(
            "Printed rings break with sharp edges: wear eye protection when supports are broken "
            "away or a ring is sawn through.",
            "Not a toy for small children: broken rings and supports are small enough to choke "
            "on. It carries no load.",
        ),
        remarks=(
            "The rings hang in each other, so parts of them are over thin air wherever the sample "
            "lies: a filament printer needs supports, and leaves marks where they were. Powder "
            "and soluble supports leave none. The overhangs are listed as measured.",
            f"Settled with {sample.gap_mm:g} mm between all printed rings, then printed in the "
            "true wire: proportions are those of the real ring, and the lay is a little looser "
            "than pulled tight.",
            "Whether a gap prints free depends on printer and filament (common practice, no "
            "source: 0.3 to 0.5 mm): print one repeat first.",
        ),
        facts=_facts(sample),
    )


def _note(roles: Sequence[str]) -> str:
    other = " together with the other part, as one object," if len(roles) == 2 else ""
    return f"print{other} with supports"


def _tori(sample: GiantSample) -> Iterator[cq.Solid]:
    """Every ring; what is lowest gets a flat to stand on."""
    import cadquery as cq

    piece, flat = sample.piece, sample.flat_mm
    wide_mm = 4.0 * max(sample.room_mm)
    below = cq.Solid.makeBox(wide_mm, wide_mm, wide_mm, cq.Vector(-wide_mm / 2, -wide_mm / 2,
                                                                  flat - wide_mm))  # fmt: skip
    for index in range(len(piece)):
        made = cq.Solid.makeTorus(
            float(piece.core_radii_mm[index]),
            float(piece.wire_radii_mm[index]),
            cq.Vector(*piece.centres_mm[index].tolist()),
            cq.Vector(*piece.axes[index].tolist()),
        )
        if made.BoundingBox().zmin < flat:
            made = made.cut(below).Solids()[0]
        yield made


def _facts(sample: GiantSample) -> dict[str, Any]:
    return {
        "weave": sample.weave,
        "rings": len(sample.piece),
        "true_wire_mm": sample.size.wire_mm,
        "true_inner_mm": sample.size.inner_mm,
        "scale": sample.scale,
        "printed_wire_mm": sample.size.wire_mm * sample.scale,
        "printed_inner_mm": sample.size.inner_mm * sample.scale,
        "aspect_ratio": sample.size.aspect_ratio,
        "gap_kept_mm": sample.gap_mm,
        "smallest_gap_mm": sample.smallest_mm,
        "flat_below_mm": sample.flat_mm,
        "printed_size_mm": list(sample.room_mm),
    }
