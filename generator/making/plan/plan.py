"""The cutting plan: rings to make for a piece, coils and wire, hours and money.

A pure function from a settled weave, a number of repeats and where the rings come from to
everything that has to lie ready on the bench. Wire is cut to whole millimetres, upwards, and
everything after that (mass, cost) counts the wire that is really cut.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field

import numpy as np

from ringwright.answers.verdict import Report
from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.colour.metals import Colouring, painted
from ringwright.making.plan.lengths import MM
from ringwright.making.plan.piece_size import Sized, Sizing
from ringwright.making.ring.coil import (
    END_TURNS,
    TAIL_MM,
    Cut,
    MadeRing,
    Winding,
    made_ring,
    mandrel_mm_for_ring,
    winding,
)
from ringwright.making.ring.ring_mass import ring_mass_g, wire_mass_g
from ringwright.making.ring.wire import Bending
from ringwright.making.shop.piece_counts import piece_width_mm
from ringwright.making.shop.shop import Pace, Rates, Shop, ShopWire, StockRing
from ringwright.metals.flow import DEAD
from ringwright.metals.metal import Metal
from ringwright.piece.end_kinds import BAR, ONE, TAPER
from ringwright.piece.ends import (
    Taper,
    end_rings,
    gathered_by_one,
    refs_of,
    taper,
    with_tapers,
)
from ringwright.piece.piece import Piece, piece_of_length, rows_of, woven_piece
from ringwright.rest.counts import Count, counted_unit, if_hung
from ringwright.solver.measure import extent
from ringwright.weaves.rule import RingRef, WeaveRule

MAIN = "main"
# Two wires as near as this are the same reel.
_SAME_WIRE_MM = 0.005


@dataclass(frozen=True)
class Rings:
    """Where the rings of the main size come from.

    Attributes
    ----------
    size : closed
    mandrel_mm : what they are wound on, as the maker said; None to work it out
    cut, coil_mm : how they come off a coil, and the longest coil wound at a time
    metal, temper, bends : None where they are not known
    wire : on the maker's shelf, with its price; None for wire that is not
    stock : bought ready cut; None for rings of one's own
    shop : None without a shop file
    """

    size: RingSize
    mandrel_mm: float | None
    cut: Cut
    coil_mm: float
    metal: Metal | None = None
    temper: str | None = None
    bends: Bending | None = None
    wire: ShopWire | None = None
    stock: StockRing | None = None
    shop: Shop | None = None


def bought(stock: StockRing, size: RingSize, shop: Shop) -> Rings:
    """Rings that are neither wound nor cut; ``size`` is what they are taken for."""
    return Rings(
        size=size,
        mandrel_mm=None,
        cut=shop.cut,
        coil_mm=defaults.COIL_MM,
        metal=stock.metal,
        temper=stock.temper or None,
        stock=stock,
        shop=shop,
    )


@dataclass(frozen=True)
class Mix:
    """Rings of several metals.

    Attributes
    ----------
    colouring : which ring is of which
    sources : where the rings of the main size come from, by what the colouring calls their metal
    taken : colours as #rrggbb that stood in its place, each with what it was taken for
    """

    colouring: Colouring
    sources: Mapping[str, Rings]
    taken: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Asked:
    """What else the maker decides.

    Attributes
    ----------
    width_mm : least width of a sheet; None for the usual one
    shorter : take the shorter of the two neighbours instead of the longer
    clasp_rings : how many hold the clasp, of the main size, where the weave has any of it; None
        for as many as its ends take
    ends : how the piece ends, one of :data:`ringwright.piece.end_kinds.KINDS`; None for one ring at
        each end where it can hold all that ends there, and else one for every ring of the end
    spares_percent : of the rings of each size, rounded up
    clasp_price : None where it is not known
    anneal : whether the wire is annealed and pickled first
    units : in which lengths are said, one of :data:`ringwright.making.plan.lengths.UNITS`
    typed : sizes as they were typed, if not in millimetres, by the name of the option
    """

    width_mm: float | None = None
    shorter: bool = False
    clasp_rings: int | None = None
    ends: str | None = None
    spares_percent: float = defaults.SPARES_PERCENT
    clasp_price: float | None = None
    anneal: bool = False
    units: str = MM
    typed: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Ends:
    """How a piece with a clasp ends.

    Attributes
    ----------
    kind : one of :data:`ringwright.piece.end_kinds.KINDS`
    first, last : the rings of the piece's beginning and end that the clasp's rings go through
    tapers : of its beginning and its end; none without
    """

    kind: str
    first: tuple[RingRef, ...]
    last: tuple[RingRef, ...]
    tapers: tuple[Taper, ...] = ()

    @property
    def clasp_rings(self) -> int:
        """How many more rings the clasp takes."""
        if self.kind == BAR:
            return len(self.first) + len(self.last)
        return defaults.CLASP_RINGS


@dataclass(frozen=True)
class Coil:
    """Coils of one length; lengths in millimetres.

    Attributes
    ----------
    coils : how many of them
    rings : that each of them gives
    turns_wound : close turns of each on the mandrel; None where springback is not known
    wire_length_mm : to cut for each, ends included, in whole millimetres
    length_wound_mm : of each over all on the mandrel; None where springback is not known
    length_mm : of each over all, let go and close
    """

    coils: int
    rings: int
    turns_wound: float | None
    wire_length_mm: float
    length_wound_mm: float | None
    length_mm: float

    @property
    def turns(self) -> int:
        """Of each once it is let go, with those lost at its ends."""
        return self.rings + int(END_TURNS)


@dataclass(frozen=True)
class Batch:
    """All rings of one size and one metal.

    Attributes
    ----------
    name : ``main``, or as the rule calls the size
    source : where those of the main size in its metal come from
    rings_open, rings_closed : of the piece, to open and to close before weaving
    end_rings : how many of these only end the piece
    clasp_rings : more of them, to open, that hold the clasp
    spares : beyond all of these
    mandrel_mm : to wind on; None for bought rings, and where springback is not known
    made, winding, coils : None, and none, for bought rings
    nearest : what the nearest mandrel on the maker's shelf would make instead; None where a
        mandrel was named, is there, or nothing is known of the shelf
    wire_g : the wire cut for them; None for bought rings or an unknown metal
    cost : of the wire or the bought rings; None where no price is known
    stock : the bought rings; None for one's own, and where none of that size are known
    """

    name: str
    source: Rings
    size: RingSize
    rings_open: int
    rings_closed: int
    end_rings: int
    clasp_rings: int
    spares: int
    mandrel_mm: float | None
    made: MadeRing | None
    winding: Winding | None
    coils: tuple[Coil, ...]
    nearest: MadeRing | None
    wire_g: float | None
    ring_g: float | None
    cost: float | None
    stock: StockRing | None = None

    @property
    def packs(self) -> int | None:
        """Packs of bought rings; None where they are not sold by the pack."""
        return None if self.stock is None else self.stock.packs(self.to_make)

    @property
    def in_piece(self) -> int:
        """Rings of the weave, the clasp's not counted."""
        return self.rings_open + self.rings_closed

    @property
    def needed(self) -> int:
        """Rings of the finished piece."""
        return self.in_piece + self.clasp_rings

    @property
    def to_make(self) -> int:
        """Rings to have ready, spares included."""
        return self.needed + self.spares

    @property
    def wire_length_mm(self) -> float:
        """Wire to cut for all coils."""
        return sum(coil.coils * coil.wire_length_mm for coil in self.coils)


@dataclass(frozen=True)
class Work:
    """Time for one step.

    Attributes
    ----------
    times, of : how often it is done, and to what: ``ring``, ``setting`` (a wire on a mandrel),
        ``load`` of the tumbler or ``piece``
    seconds_each : at the maker's own pace; None where she gave none
    is_usual : whether it is the usual pace in place of her own: common practice, no source
    """

    step: str
    times: int
    of: str
    seconds_each: float | None
    is_usual: bool

    @property
    def seconds(self) -> float | None:
        """For all of them."""
        return None if self.seconds_each is None else self.times * self.seconds_each


@dataclass(frozen=True, eq=False)
class Plan:
    """Everything that has to lie ready.

    Attributes
    ----------
    piece : as it is drawn, flat
    left_off : the names of those of its rings that are not there when it is closed into itself
    repeats : None for a finished piece without repeats
    rows : of a sheet; else 1
    width_mm : over the outsides, of a sheet with all its rows
    thickness_mm : of the weave, a sheet's as it lies spread
    if_hung : what a sheet takes that is to be so long and wide as it hangs, by either edge
    sizing : the neighbours of whole repeats; None for a finished piece
    batches : the main size first, of several metals that of most rings
    work : in bench order; steps that are not done are left out
    mix : which ring is of which metal, of several; else None
    ends : how it ends; None without a clasp
    """

    report: Report
    rings: Rings
    asked: Asked
    piece: Piece
    left_off: frozenset[str]
    repeats: int | None
    rows: int
    width_mm: float
    thickness_mm: float | None
    if_hung: tuple[Count, ...]
    sizing: Sizing | None
    batches: tuple[Batch, ...]
    work: tuple[Work, ...]
    rates: Rates
    mix: Mix | None = None
    ends: Ends | None = None

    @property
    def sources(self) -> tuple[Rings, ...]:
        """Where the rings come from, one for each metal."""
        return tuple(dict.fromkeys(batch.source for batch in self.batches))

    @property
    def metals(self) -> tuple[Metal, ...]:
        """The metals that are known, each once."""
        return tuple(one.metal for one in self.sources if one.metal is not None)

    @property
    def clasp(self) -> bool:
        """Whether the piece has one."""
        return self.sizing is not None and self.sizing.measure.clasp_mm is not None

    @property
    def endless(self) -> bool:
        """Whether the piece is closed into itself."""
        return self.sizing is not None and self.sizing.measure.endless

    @property
    def rings_to_open(self) -> int:
        """Those of the piece and of the clasp."""
        return sum(batch.rings_open + batch.clasp_rings for batch in self.batches)

    @property
    def rings_closed(self) -> int:
        """To close before weaving."""
        return sum(batch.rings_closed for batch in self.batches)

    @property
    def to_make(self) -> int:
        """All rings, spares included."""
        return sum(batch.to_make for batch in self.batches)

    @property
    def wire_length_mm(self) -> float:
        """All wire to cut."""
        return sum(batch.wire_length_mm for batch in self.batches)

    @property
    def seconds(self) -> float | None:
        """For all steps; None where the pace of any is missing."""
        return _sum([work.seconds for work in self.work])


def _sum(parts: Sequence[float | None]) -> float | None:
    known = [part for part in parts if part is not None]
    return sum(known) if len(known) == len(parts) else None


def plan(
    report: Report, rings: Rings, sizing: Sizing | None, asked: Asked, mix: Mix | None = None
) -> Plan:
    """Lay out a piece and count what it takes.

    Parameters
    ----------
    report : of a size that can be woven
    rings : where the rings come from; of several metals one of those of ``mix``
    sizing : the neighbours to choose from; None for a finished piece

    Raises
    ------
    BadInput
        When there is no shorter neighbour but it was asked for, the piece has more than
        20,000 rings, or its rings cannot be wound.
    """
    piece, repeats = _laid_out(report, sizing, asked)
    endless = sizing is not None and sizing.measure.endless
    ends = None
    if sizing is not None and sizing.measure.clasp_mm is not None:
        ends = ends_of(report.rule, piece, asked.ends)
        scale = report.size.core_radius_mm
        unit = counted_unit(report.rule, report.unit)
        piece = with_tapers(report.rule, unit, scale, piece, ends.tapers)
    if mix is not None:
        piece = painted(piece, mix.colouring)
    sources = mix.sources if mix else dict.fromkeys(piece.paints, rings)
    counted, left_off = _counted(report.rule, piece, sources, repeats or 0, endless)
    batches = []
    for n, tally in enumerate(counted):
        clasp_rings = 0
        if ends is not None and n == 0:
            told = asked.clasp_rings
            clasp_rings = ends.clasp_rings if told is None else told
        batches.append(_batch(report, asked, piece, tally, clasp_rings))
    pace = rings.shop.pace if rings.shop else Pace()
    rates = rings.shop.rates if rings.shop else Rates()
    return Plan(
        report=report,
        rings=rings,
        asked=asked,
        piece=piece,
        left_off=left_off,
        repeats=repeats,
        rows=_rows(report.rule, piece),
        width_mm=piece_width_mm(report, piece),
        thickness_mm=_thickness_mm(report, piece),
        if_hung=_if_hung(report, sizing, asked),
        sizing=sizing,
        batches=tuple(batches),
        work=_work(batches, pace, rings.stock is None, ends is not None),
        rates=rates,
        mix=mix,
        ends=ends,
    )


def _laid_out(report: Report, sizing: Sizing | None, asked: Asked) -> tuple[Piece, int | None]:
    """The piece drawn flat, and its repeats."""
    rule, scale = report.rule, report.size.core_radius_mm
    if sizing is None or report.repeat_mm is None:
        return piece_of_length(rule, report.unit, scale, 0.0)[0], None
    chosen = _chosen(sizing, asked)
    # A sheet is drawn as it is counted.
    unit = counted_unit(rule, report.unit)
    one_mm = woven_piece(rule, unit, scale, 1).length_mm()
    flat_mm = one_mm + (chosen.repeats - 1) * unit.repeat * scale
    return piece_of_length(rule, unit, scale, flat_mm, asked.width_mm)


def _chosen(sizing: Sizing, asked: Asked) -> Sized:
    """The neighbour that is planned."""
    chosen = sizing.shorter if asked.shorter else sizing.longer
    if chosen is None:
        raise BadInput(
            "there is no shorter piece of whole repeats for this measure; leave out --shorter."
        )
    return chosen


def _if_hung(report: Report, sizing: Sizing | None, asked: Asked) -> tuple[Count, ...]:
    if sizing is None:
        return ()
    least_mm = sizing.measure.least_mm(_chosen(sizing, asked))
    scale = report.size.core_radius_mm
    return if_hung(report.rule, report.unit, scale, least_mm, asked.width_mm)


def ends_of(rule: WeaveRule, piece: Piece, kind: str | None) -> Ends:
    """How a piece ends, as asked for or as its rings allow.

    Raises
    ------
    BadInput
        When one ring cannot go through all that ends there, or the weave has no taper.
    """
    there = refs_of(piece)
    both = end_rings(rule, piece)
    fits = all(gathered_by_one(rule, there, end) for end in both)
    kind = kind or (ONE if fits else BAR)
    if kind == ONE and not fits:
        most = max(len(end) for end in both)
        raise BadInput(
            f"no ring of this size goes through all {most} rings that end {rule.name}, which lie "
            "too far apart; give --ends bar, one ring for each of them, or taper."
        )
    if kind != TAPER:
        return Ends(kind, *both)
    tapers = [taper(rule, there, end) for end in both]
    if None in tapers:
        raise BadInput(
            f"{rule.name} does not get narrower ring by ring from its end; give --ends "
            f"{'one' if fits else 'bar'}."
        )
    found = tuple(one for one in tapers if one is not None)
    first, last = (
        one.layers[-1] if one.layers else end for one, end in zip(found, both, strict=True)
    )
    return Ends(TAPER, first, last, found)


def ends_mm(report: Report, asked: Asked) -> float:
    """What tapers at both ends add to the length of a piece."""
    if asked.ends != TAPER or report.repeat_mm is None:
        return 0.0
    rule, scale = report.rule, report.size.core_radius_mm
    unit = counted_unit(rule, report.unit)
    # Of one repeat alone, a ring may end the piece on both sides.
    least_mm = woven_piece(rule, unit, scale, 2).length_mm()
    piece, _ = piece_of_length(rule, unit, scale, least_mm, asked.width_mm)
    tapers = ends_of(rule, piece, TAPER).tapers
    return with_tapers(rule, unit, scale, piece, tapers).length_mm() - piece.length_mm()


def _rows(rule: WeaveRule, piece: Piece) -> int:
    """How many rows a sheet has."""
    return len(rows_of(piece, lying=True)) if rule.family.has_rows else 1


def _thickness_mm(report: Report, piece: Piece) -> float | None:
    if not report.rule.family.has_rows:
        return report.thickness_mm
    low, high = extent(piece.rings(), np.array([0.0, 0.0, 1.0]))
    return high - low


# --- counting -------------------------------------------------------------------------


@dataclass(frozen=True)
class _Tally:
    """Rings of one size and metal: how many of each role, how many end the piece, one of them."""

    name: str
    source: Rings
    rings_open: int
    rings_closed: int
    end_rings: int
    example: int


def _counted(
    rule: WeaveRule, piece: Piece, sources: Mapping[str, Rings], repeats: int, endless: bool
) -> tuple[tuple[_Tally, ...], frozenset[str]]:
    """Rings by size and metal; and those that the piece closed into itself does not have.

    The main size comes first, and of one size the metal of which most rings are opened: the clasp
    is held by such. Closed into itself, the rings laid down first are those of the last repeat:
    they are there once, in the role they are laid down in.

    Parameters
    ----------
    sources : where rings come from, by their paint; equal ones are one
    """
    distinct = tuple(dict.fromkeys(sources.values()))
    source_of = {paint: distinct.index(source) for paint, source in sources.items()}
    sizes = {ring.name: ring.size.name if ring.size else MAIN for ring in rule.rings}
    # The rings a piece is started from come first in it.
    first = set(piece.names[: len(rule.start)])
    twice = frozenset(_further(name, repeats) for name in first if endless)
    tallies: dict[tuple[str, int], Counter[str]] = {}
    examples: dict[tuple[str, int], int] = {}
    rings = zip(piece.names, piece.roles, piece.paints, strict=True)
    for place, (name, role, paint) in enumerate(rings):
        if name in twice:
            continue
        kind = sizes[name.split(".")[0]], source_of[paint]
        tally = tallies.setdefault(kind, Counter())
        tally[role] += 1
        tally["end"] += name in first and not endless
        examples.setdefault(kind, place)
    found = [
        _Tally(
            kind[0],
            distinct[kind[1]],
            tally["open"],
            tally["closed"],
            tally["end"],
            examples[kind],
        )
        for kind, tally in tallies.items()
    ]
    found.sort(key=lambda one: (one.name != MAIN, one.name, -one.rings_open, -one.rings_closed))
    return tuple(found), twice


def _further(name: str, repeats: int) -> str:
    """The name of the same ring so many repeats on, numbered as in ``piece.piece``."""
    ring, along, *across = name.split(".")
    return ".".join([ring, str(int(along) + repeats), *across])


# --- rings of one size ----------------------------------------------------------------


def _batch(report: Report, asked: Asked, piece: Piece, tally: _Tally, clasp_rings: int) -> Batch:
    rings, name = tally.source, tally.name
    wire_mm = 2.0 * float(piece.wire_radii_mm[tally.example])
    core_mm = float(piece.core_radii_mm[tally.example])
    size = report.size if name == MAIN else RingSize(wire_mm, 2.0 * core_mm - wire_mm)
    needed = tally.rings_open + tally.rings_closed + clasp_rings
    # Not one more for the last bit of a product such as 0.05 x 20.
    spares = math.ceil(needed * asked.spares_percent / 100.0 - 1e-9)
    counts = (tally.rings_open, tally.rings_closed, tally.end_rings, clasp_rings, spares)
    of = (name, rings, size, *counts)
    density = rings.metal.density_g_per_cm3 if rings.metal else None
    ring_g = None if density is None else ring_mass_g(size, density)
    if rings.stock is not None:
        stock = rings.stock if name == MAIN else _other_stock(rings, size)
        cost = None if stock is None else stock.price(needed + spares)
        return Batch(*of, None, None, None, (), None, None, ring_g, cost, stock)
    wire, bends, mandrel_mm = rings.wire, rings.bends, rings.mandrel_mm
    if name != MAIN:
        wire, bends, mandrel_mm = *_other_wire(rings, size.wire_mm), None
    nearest = None
    if mandrel_mm is None and bends is not None:
        nearest = _nearest(rings, size, bends)
    made, mandrel_mm = _made(size, bends, rings.cut, mandrel_mm)
    found = winding(made, needed + spares, rings.coil_mm)
    coils = _coils(found, made, mandrel_mm is not None)
    cut_mm = sum(coil.coils * coil.wire_length_mm for coil in coils)
    wire_g = None if density is None else wire_mass_g(cut_mm, size.wire_mm, density)
    cost = None if wire is None else wire.price(cut_mm)
    return Batch(*of, mandrel_mm, made, found, coils, nearest, wire_g, ring_g, cost)


def _other_wire(rings: Rings, wire_mm: float) -> tuple[ShopWire | None, Bending | None]:
    """Wire for rings of another size, and how it springs back: of the same metal and temper."""
    if abs(wire_mm - rings.size.wire_mm) < _SAME_WIRE_MM:
        return rings.wire, rings.bends
    for wire in rings.shop.wires if rings.shop else ():
        same = rings.metal is not None and wire.metal.name == rings.metal.name
        if same and abs(wire.wire_mm - wire_mm) < _SAME_WIRE_MM:
            return wire, wire.bending
    return None, None if rings.bends is None else rings.bends.of_wire(wire_mm)


def _other_stock(rings: Rings, size: RingSize) -> StockRing | None:
    for stock in rings.shop.stock_rings if rings.shop else ():
        same = rings.metal is not None and stock.metal.name == rings.metal.name
        off_mm = abs(stock.size.wire_mm - size.wire_mm), abs(stock.size.inner_mm - size.inner_mm)
        if same and max(off_mm) < _SAME_WIRE_MM:
            return stock
    return None


def _made(
    size: RingSize, bends: Bending | None, cut: Cut, mandrel_mm: float | None
) -> tuple[MadeRing, float | None]:
    """A ring on its way from the mandrel, and that mandrel where springback is known.

    Coil and wire follow from the ring and the cut alone; without springback a mandrel as wide
    as the coil stands in.
    """
    flow = DEAD if bends is None else bends.flow
    if mandrel_mm is None:
        mandrel_mm = mandrel_mm_for_ring(size, flow, cut)
    made = made_ring(mandrel_mm, size.wire_mm, flow, cut)
    return made, None if bends is None else mandrel_mm


def _nearest(rings: Rings, size: RingSize, bends: Bending) -> MadeRing | None:
    """What comes nearest to a ring on the mandrels of the shelf; None if it fits exactly."""
    made = []
    for mandrel in rings.shop.mandrels if rings.shop else ():
        # Hard wire makes no ring on a wide mandrel.
        with suppress(BadInput):
            made.append(made_ring(mandrel.mandrel_mm, size.wire_mm, bends.flow, rings.cut))
    if not made:
        return None
    best = min(made, key=lambda one: abs(one.ring.inner_mm - size.inner_mm))
    return None if abs(best.ring.inner_mm - size.inner_mm) < _SAME_WIRE_MM else best


def _coils(found: Winding, made: MadeRing, springs: bool) -> tuple[Coil, ...]:
    """Coils of one length together, the longer ones first.

    Parameters
    ----------
    springs : whether it is known how far they open when they are let go
    """
    coils = []
    alike = zip(found.wound_turns, found.wound_lengths_mm, found.coil_lengths_mm, strict=True)
    of_rings = dict(zip(found.coil_rings, alike, strict=True))
    for rings, count in sorted(Counter(found.coil_rings).items(), reverse=True):
        turns, wound_mm, length_mm = of_rings[rings]
        coils.append(
            Coil(
                coils=count,
                rings=rings,
                turns_wound=turns if springs else None,
                wire_length_mm=math.ceil((rings + END_TURNS) * made.turn_mm + TAIL_MM - 1e-6),
                length_wound_mm=wound_mm if springs else None,
                length_mm=length_mm,
            )
        )
    return tuple(coils)


# --- time -----------------------------------------------------------------------------


def _work(batches: Sequence[Batch], pace: Pace, own: bool, clasp: bool) -> tuple[Work, ...]:
    """Every step of the workshop: rings are made and closed, or opened and woven in.

    Parameters
    ----------
    own : whether rings are wound and cut, not bought
    clasp : whether the piece has one
    """
    made = sum(batch.to_make for batch in batches)
    opened = sum(batch.rings_open + batch.clasp_rings for batch in batches)
    closed = sum(batch.rings_closed for batch in batches)
    metals = len({batch.source.metal for batch in batches})
    steps = [
        ("setup", len(batches) if own else 0, "setting"),
        ("wind", made if own else 0, "ring"),
        ("cut", made if own else 0, "ring"),
        ("deburr", made if own else 0, "ring"),
        # Metals are not tumbled together: the softer ones would take marks and dust of the others.
        ("tumble", metals if own else 0, "load"),
        ("close", closed, "ring"),
        ("open", opened, "ring"),
        ("sort", made, "ring"),
        ("weave", opened, "ring"),
        ("clasp", 1 if clasp else 0, "piece"),
        ("pack", 1, "piece"),
    ]
    return tuple(Work(step, times, of, *pace.of(step)) for step, times, of in steps if times)
