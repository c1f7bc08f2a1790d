"""The figures of a planned piece: its size, its rings, their coils, wire and mass.

Rounded to what the bench can tell apart. A further column of the ring or the coil table is one
more line with a ``head``; a further row of the CSV file one with its ``csv`` part.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from ringwright.answers.advice import warning
from ringwright.answers.count_figures import HungFigures, for_either, safe_words
from ringwright.base import defaults
from ringwright.base.figures import (
    COILS,
    GRAMS,
    LIMIT,
    METRES,
    MONEY,
    PART_TURNS,
    PERCENT,
    PIECE_MM,
    RATIO,
    REPEATS,
    RING_MM,
    RINGS,
    TURNS,
    WORDS,
    Figures,
    Unit,
    read_from,
)
from ringwright.base.version import program_version
from ringwright.base.wording import listed
from ringwright.making.plan.lengths import Lengths
from ringwright.making.plan.plan import Batch, Coil, Ends, Plan, Rings
from ringwright.making.plan.size_figures import Fitted, TakenFigures
from ringwright.making.ring.coil import END_TURNS, TAIL_MM, MadeRing
from ringwright.making.shop.shelf_figures import shelf_figures

# Mandrels are sold by hundredths.
TOOL_MM = Unit("mm", 2)
WIRE_MM = Unit("mm", 3, is_wire=True)
WHOLE_MM = Unit("mm")

_coil = read_from(Coil)


@dataclass(frozen=True)
class CoilFigures(Figures[Coil]):
    """Coils of one length."""

    coils: int = _coil(
        lambda coil: coil.coils, "coils of this length", COILS, head="coils", csv="coils"
    )
    rings: int = _coil(
        lambda coil: coil.rings, "rings from each", RINGS, head="rings each", csv="coils"
    )
    turns_wound: float | None = _coil(
        lambda coil: coil.turns_wound,
        "close turns of each on the mandrel; null where springback is not known",
        PART_TURNS,
        head="turns wound",
        csv="coils",
    )
    turns: int = _coil(
        lambda coil: coil.turns,
        "turns of each once it is let go, which are wider and so fewer",
        TURNS,
        head="turns let go",
        csv="coils",
    )
    wire_length_mm: int = _coil(
        lambda coil: int(coil.wire_length_mm),
        "wire to cut for each, tail included",
        WHOLE_MM,
        head="wire each",
        csv="coils",
    )
    length_wound_mm: float | None = _coil(
        lambda coil: coil.length_wound_mm,
        "length of each on the mandrel; null where springback is not known",
        PIECE_MM,
        head="long wound",
        csv="coils",
    )
    length_mm: float = _coil(
        lambda coil: coil.length_mm,
        "length of each once it is let go",
        PIECE_MM,
        head="long let go",
        csv="coils",
    )


_near = read_from(MadeRing)


@dataclass(frozen=True)
class NearestFigures(Figures[MadeRing]):
    """What the nearest mandrel on the shelf would make."""

    mandrel_mm: float = _near(lambda made: made.mandrel_mm, "its diameter", RING_MM)
    inner_mm: float = _near(lambda made: made.ring.inner_mm, "inner diameter of its rings", TOOL_MM)
    aspect_ratio: float = _near(lambda made: made.ring.aspect_ratio, "and their ratio", RATIO)


_ring = read_from(Batch)


@dataclass(frozen=True)
class RingFigures(Figures[Batch]):
    """All rings of one size and metal."""

    size: str = _ring(lambda batch: batch.name, "the size's name")
    metal: str | None = _ring(
        lambda batch: batch.source.metal.name if batch.source.metal else None,
        "its metal; null if not known",
    )
    temper: str | None = _ring(lambda batch: batch.source.temper, "and temper")
    rings_from: str = _ring(lambda batch: _rings_from(batch.source), "the wire or bought rings")
    wire_diameter_mm: float = _ring(
        lambda batch: batch.size.wire_mm, "wire diameter", WIRE_MM, head="wire", csv="rings"
    )
    inner_mm: float = _ring(
        lambda batch: batch.size.inner_mm, "inner diameter", RING_MM, head="inside", csv="rings"
    )
    aspect_ratio: float = _ring(
        lambda batch: batch.size.aspect_ratio, "inner by wire", RATIO, head="AR", csv="rings"
    )
    open: int = _ring(
        lambda batch: batch.rings_open,
        "to open for the weave",
        RINGS,
        head="open",
        csv="rings",
        summed=True,
    )
    closed: int = _ring(
        lambda batch: batch.rings_closed,
        "to close first",
        RINGS,
        head="closed",
        csv="rings",
        summed=True,
    )
    end: int = _ring(lambda batch: batch.end_rings, "that only end the piece", RINGS, csv="rings")
    clasp: int = _ring(
        lambda batch: batch.clasp_rings,
        "for the clasp, to open",
        RINGS,
        head="clasp",
        csv="rings",
        summed=True,
    )
    spares: int = _ring(
        lambda batch: batch.spares,
        "beyond all of these",
        RINGS,
        head="spare",
        csv="rings",
        summed=True,
    )
    to_make: int = _ring(
        lambda batch: batch.to_make,
        "in all, spares included",
        RINGS,
        head="make",
        csv="rings",
        summed=True,
    )
    packs: int | None = _ring(
        lambda batch: batch.packs, "to buy; null where they are not sold by the pack", csv="rings"
    )
    mandrel_mm: float | None = _ring(
        lambda batch: batch.mandrel_mm, "to wind on; null if not known", TOOL_MM, csv="rings"
    )
    coil_inner_mm: float | None = _ring(
        lambda batch: batch.made.coil_inner_mm if batch.made else None,
        "inside of the coil, let go; null for bought rings",
        TOOL_MM,
    )
    nearest_mandrel: NearestFigures | None = _ring(
        lambda batch: NearestFigures.of(batch.nearest) if batch.nearest else None,
        "of the shelf, where none fits exactly",
    )
    coils: tuple[CoilFigures, ...] = _ring(
        lambda batch: tuple(map(CoilFigures.of, batch.coils)), "the longer ones first"
    )
    wire_m: float | None = _ring(
        lambda batch: batch.wire_length_mm / 1000.0 if batch.coils else None,
        "wire to cut for all coils",
        METRES,
    )
    wire_g: float | None = _ring(lambda batch: batch.wire_g, "mass of that wire", GRAMS)
    cost: float | None = _ring(lambda batch: batch.cost, "of the wire or bought rings", MONEY)


_cut = read_from(Rings)


@dataclass(frozen=True)
class CutFigures(Figures[Rings]):
    """How rings come off their coils."""

    tool: str = _cut(lambda rings: rings.cut.tool, "saw or shears")
    kerf_mm: float = _cut(lambda rings: rings.cut.kerf_mm, "that the blade takes", RING_MM)
    longest_coil_mm: float = _cut(lambda rings: rings.coil_mm, "wound at a time", PIECE_MM)
    longest_coil_from: str = _cut(lambda rings: _limit_from(rings), "who says so")
    end_turns: int = _cut(lambda _: int(END_TURNS), "lost at the ends of each coil", TURNS)
    tail_mm: int = _cut(lambda _: int(TAIL_MM), "of wire that is held and not wound", WHOLE_MM)


def _limit_from(rings: Rings) -> str:
    """Who says how long a coil may be."""
    if rings.shop is not None and rings.coil_mm == rings.shop.coil_mm:
        return "your shop file"
    return "common practice, no source" if rings.coil_mm == defaults.COIL_MM else "as you asked"


@dataclass(frozen=True)
class _Share:
    """All rings of one metal."""

    metal: str
    batches: tuple[Batch, ...]

    @property
    def wire_m(self) -> float | None:
        if not all(batch.coils for batch in self.batches):
            return None
        return sum(batch.wire_length_mm for batch in self.batches) / 1000.0

    @property
    def piece_g(self) -> float:
        return shown_g([(batch.ring_g or 0.0) * batch.needed for batch in self.batches])

    @property
    def all_g(self) -> float:
        """Of the wire that is cut, or of all bought rings."""
        return shown_g(
            [
                batch.wire_g if batch.wire_g is not None else (batch.ring_g or 0.0) * batch.to_make
                for batch in self.batches
            ]
        )

    @property
    def cost(self) -> float | None:
        return shown_cost(self.batches)


def shown_g(masses: Sequence[float]) -> float:
    """A sum of masses in grams, each rounded as it is shown, so that shown sums add up."""
    return sum(float(GRAMS.rounded(mass)) for mass in masses)


def shown_cost(batches: Sequence[Batch]) -> float | None:
    """What batches cost, each rounded as it is shown, so that shown sums add up."""
    total = 0.0
    for batch in batches:
        if batch.cost is None:
            return None
        total += MONEY.rounded(batch.cost)
    return total


_share = read_from(_Share)


@dataclass(frozen=True)
class MetalFigures(Figures[_Share]):
    """What one metal takes."""

    metal: str = _share(lambda share: share.metal, "its name")
    rings: int = _share(
        lambda share: sum(batch.to_make for batch in share.batches),
        "rings in all, spares included",
        RINGS,
        head="make",
        csv="metal",
        summed=True,
    )
    wire_m: float | None = _share(
        lambda share: share.wire_m,
        "wire to cut for all coils; null for bought rings",
        METRES,
        head="wire, m",
        csv="metal",
        summed=True,
    )
    all_g: float = _share(
        lambda share: share.all_g,
        "mass of that wire, or of the bought rings",
        GRAMS,
        head="in all, g",
        csv="metal",
        summed=True,
    )
    piece_g: float = _share(
        lambda share: share.piece_g,
        "mass in the finished piece",
        GRAMS,
        head="in the piece, g",
        csv="metal",
        summed=True,
    )
    cost: float | None = _share(
        lambda share: share.cost,
        "of the wire or bought rings; null where a price is missing",
        MONEY,
        head="cost",
        csv="metal",
        summed=True,
    )


def _shares(batches: Sequence[Batch]) -> tuple[_Share, ...]:
    """The rings of each metal; none where a metal is not known."""
    if any(batch.source.metal is None for batch in batches):
        return ()
    of: dict[str, list[Batch]] = {}
    for batch in batches:
        if batch.source.metal is not None:
            of.setdefault(batch.source.metal.name, []).append(batch)
    return tuple(_Share(name, tuple(some)) for name, some in of.items())


@dataclass(frozen=True)
class Counted:
    """A plan and its files, with what several figures are made from."""

    plan: Plan
    files: Mapping[str, str]

    @cached_property
    def rings(self) -> tuple[RingFigures, ...]:
        """The rings of each size, the main size first."""
        return tuple(map(RingFigures.of, self.plan.batches))

    @property
    def rings_in_piece(self) -> int:
        """Of the weave, the clasp's not counted."""
        return sum(batch.in_piece for batch in self.plan.batches)

    @property
    def rings_hung(self) -> list[int | None]:
        """What a sheet would take hung by each of its edges."""
        return [count.rings for count in self.plan.if_hung]

    @cached_property
    def is_wound(self) -> bool:
        """Whether rings are wound and cut, not bought."""
        return self.plan.rings.stock is None

    @cached_property
    def warning(self) -> str | None:
        """What the paper has to say where rings are tight for the weave."""
        said = warning(self.plan.report)
        if said is None:
            return None
        return " ".join([said, *shelf_figures(self.plan.report, self.plan.rings.shop).said])

    @cached_property
    def piece_g(self) -> float | None:
        """Mass of the rings of the finished piece."""
        return self._grams([batch.needed for batch in self.plan.batches])

    @cached_property
    def spares_g(self) -> float | None:
        """Mass of the spare rings."""
        return self._grams([batch.spares for batch in self.plan.batches])

    @cached_property
    def wire_g(self) -> float | None:
        """Mass of the wire that is cut; None for bought rings and unknown metal."""
        if not self.is_wound or self.piece_g is None:
            return None
        return shown_g([batch.wire_g or 0.0 for batch in self.plan.batches])

    @cached_property
    def waste_g(self) -> float | None:
        """What is left of it, so that where the wire goes adds up as it is shown."""
        if self.wire_g is None or self.piece_g is None or self.spares_g is None:
            return None
        return self.wire_g - self.piece_g - self.spares_g

    def _grams(self, counts: Sequence[int]) -> float | None:
        masses = []
        for batch, count in zip(self.plan.batches, counts, strict=True):
            if batch.ring_g is None:
                return None
            masses.append(batch.ring_g * count)
        return shown_g(masses)


def _rings_from(rings: Rings) -> str:
    if rings.stock is not None:
        return rings.stock.name
    if rings.wire is not None:
        return rings.wire.name
    return ", ".join(filter(None, [rings.metal.name if rings.metal else None, rings.temper]))


def _each_once(names: Iterable[str | None]) -> str | None:
    """Names in a row, each once; None where there are none."""
    known = list(dict.fromkeys(name for name in names if name))
    return listed(known) if known else None


def _working(plan: Plan) -> tuple[float, float] | None:
    low, high = plan.report.limits.working_range
    return None if low > high else (LIMIT.rounded(low), LIMIT.rounded(high))


_ends = read_from(Ends)


@dataclass(frozen=True)
class EndsFigures(Figures[Ends]):
    """How a piece with a clasp ends."""

    kind: str = _ends(lambda ends: ends.kind, "one ring, bar or taper")
    first: int = _ends(
        lambda ends: len(ends.first), "rings of its beginning that are held", RINGS, csv="piece"
    )
    last: int = _ends(
        lambda ends: len(ends.last), "rings of its end that are held", RINGS, csv="piece"
    )
    tapers: tuple[tuple[int, ...], ...] = _ends(
        lambda ends: tuple(tuple(map(len, one.layers)) for one in ends.tapers),
        "rings of each layer of the tapers at its beginning and its end, outwards; none without",
    )


_of = read_from(Counted)


@dataclass(frozen=True)
class PieceFigures(Figures[Counted]):
    """Everything that is counted and measured; time, money and steps follow from it."""

    program: str = _of(lambda made: f"ringwright {program_version()}", "what worked it out")
    weave: str = _of(lambda made: made.plan.report.rule.name, "the weave's name")
    summary: str = _of(lambda made: made.plan.report.rule.summary, "what the weave is")
    verdict: str = _of(
        lambda made: made.plan.report.verdict, "whether it can be woven", WORDS, csv="piece"
    )
    wire_diameter_mm: float = _of(
        lambda made: made.plan.report.size.wire_mm, "of the rings of the first size", WIRE_MM
    )
    inner_mm: float = _of(
        lambda made: made.plan.report.size.inner_mm,
        "inside diameter of the rings of the first size",
        RING_MM,
    )
    aspect_ratio: float = _of(
        lambda made: made.plan.report.size.aspect_ratio,
        "of the rings of the first size",
        RATIO,
        csv="piece",
    )
    min_aspect_ratio: float = _of(
        lambda made: made.plan.report.limits.minimum,
        "in which the weave exists; geometry only",
        LIMIT,
        csv="piece",
    )
    working_min_aspect_ratio: float | None = _of(
        lambda made: made.plan.report.limits.working,
        "from which every ring can be put in; null if none is known",
        LIMIT,
        csv="piece",
    )
    working_aspect_ratios: tuple[float, float] | None = _of(
        lambda made: _working(made.plan), "the working range; null if it is empty"
    )
    warning: str | None = _of(
        lambda made: made.warning, "where the rings are not in that range", WORDS, csv="piece"
    )
    metal: str | None = _of(
        lambda made: _each_once(metal.name for metal in made.plan.metals),
        "the metal, or all of them in a row",
        head="metal",
    )
    temper: str | None = _of(
        lambda made: _each_once(one.temper for one in made.plan.sources),
        "and its temper",
        head="temper",
    )
    metals: tuple[MetalFigures, ...] = _of(
        lambda made: tuple(map(MetalFigures.of, _shares(made.plan.batches))),
        "what each metal takes, that of the clasp's rings first; empty where one is not known",
    )
    units: str = _of(
        lambda made: made.plan.asked.units, "in which words say lengths: mm, or both mm and inches"
    )
    typed: Mapping[str, str] = _of(
        lambda made: made.plan.asked.typed,
        "sizes as they were typed, if not in millimetres, by the name of the option",
    )
    colours_taken: Mapping[str, str] = _of(
        lambda made: made.plan.mix.taken if made.plan.mix else {},
        "colours as #rrggbb, each with the metal that it was taken for",
    )
    rings_from: str = _of(
        lambda made: "; ".join(dict.fromkeys(map(_rings_from, made.plan.sources))),
        "the wire or bought rings",
    )
    fit: TakenFigures | None = _of(
        lambda made: (
            None
            if made.plan.sizing is None
            else TakenFigures.of(Fitted(made.plan.sizing, made.plan.asked.shorter))
        ),
        "the measure; null for a finished piece",
    )
    repeats: int | None = _of(
        lambda made: made.plan.repeats, "null for a finished piece", REPEATS, csv="piece"
    )
    rows: int = _of(lambda made: made.plan.rows, "of a sheet; else 1")
    flat_mm: float = _of(
        lambda made: made.plan.piece.length_mm(),
        "length lying flat",
        PIECE_MM,
        head="length",
        csv="piece",
    )
    width_mm: float = _of(lambda made: made.plan.width_mm, "width", PIECE_MM, csv="piece")
    thickness_mm: float | None = _of(
        lambda made: made.plan.thickness_mm, "thickness", PIECE_MM, csv="piece"
    )
    ends: EndsFigures | None = _of(
        lambda made: EndsFigures.of(made.plan.ends) if made.plan.ends else None,
        "how it takes its clasp; null without one",
    )
    closed_into_itself: bool = _of(
        lambda made: made.plan.endless, "whether the last repeat holds the first"
    )
    rings_drawn: int = _of(lambda made: len(made.plan.piece), "in the picture", RINGS)
    rings_in_piece: int = _of(
        lambda made: made.rings_in_piece,
        "of the weave, the clasp's not counted",
        RINGS,
        head="rings in the weave",
        csv="piece",
    )
    rings_open: int = _of(
        lambda made: sum(batch.rings_open for batch in made.plan.batches),
        "of these to open",
        RINGS,
        head="rings to open",
    )
    rings_closed: int = _of(
        lambda made: made.plan.rings_closed,
        "of these to close first",
        RINGS,
        head="rings to close first",
    )
    rings_end: int = _of(
        lambda made: sum(batch.end_rings for batch in made.plan.batches),
        "of these that only end the piece",
        RINGS,
    )
    rings_clasp: int = _of(
        lambda made: sum(batch.clasp_rings for batch in made.plan.batches), "for the clasp", RINGS
    )
    rings_to_open: int = _of(
        lambda made: made.plan.rings_to_open, "of the weave and the clasp", RINGS
    )
    spares: int = _of(
        lambda made: sum(batch.spares for batch in made.plan.batches), "beyond all these", RINGS
    )
    spares_percent: float = _of(
        lambda made: made.plan.asked.spares_percent, "of the rings of each size", PERCENT
    )
    rings_to_make: int = _of(
        lambda made: made.plan.to_make, "in all, spares included", RINGS, csv="piece"
    )
    if_hung: tuple[HungFigures, ...] = _of(
        lambda made: tuple(map(HungFigures.of, made.plan.if_hung)),
        "what a sheet of this length and width takes hung by each edge; of others empty",
    )
    rings_for_either: int | None = _of(
        lambda made: for_either(made.rings_in_piece, made.rings_hung),
        "of the weave, enough as it is counted and hung; null where that cannot be told",
        RINGS,
    )
    safe_to_buy_by: str = _of(
        lambda made: safe_words(
            made.plan.report.rule, "rings", made.rings_in_piece, made.rings_hung
        ),
        "which count, in words",
    )
    rings: tuple[RingFigures, ...] = _of(lambda made: made.rings, "by size, the first size first")
    cut: CutFigures | None = _of(
        lambda made: CutFigures.of(made.plan.rings) if made.is_wound else None,
        "how rings are cut; null for bought ones",
    )
    wire_m: float | None = _of(
        lambda made: made.plan.wire_length_mm / 1000.0 if made.is_wound else None,
        "wire to cut; null for bought rings",
        METRES,
        head="wire to cut, with spares",
        csv="metal",
    )
    wire_g: float | None = _of(
        lambda made: made.wire_g, "mass of it", GRAMS, head="mass of that wire", csv="metal"
    )
    piece_g: float | None = _of(
        lambda made: made.piece_g,
        "mass of the piece without a clasp",
        GRAMS,
        head="mass of the piece",
        csv="metal",
    )
    spares_g: float | None = _of(lambda made: made.spares_g, "mass of spares", GRAMS, csv="metal")
    waste_g: float | None = _of(
        lambda made: made.waste_g, "wire that ends in no ring", GRAMS, csv="metal"
    )

    @property
    def lengths(self) -> Lengths:
        """How lengths are said."""
        return Lengths(self.units, self.typed)
