"""A weave against the shelf: every wire on every mandrel, and every bought ring."""

from __future__ import annotations

import math
import os
from collections.abc import Mapping, Sequence
from concurrent.futures import as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass

from ringwright.answers.advice import inner_span_mm
from ringwright.answers.minimums import with_other_shapes
from ringwright.answers.ratio_limits import CANNOT, ORDER, WORKING, RatioLimits
from ringwright.answers.verdict import check, limits_of
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.progress import Progress, quiet
from ringwright.base.sizes import HIGHEST_RATIO, LOWEST_RATIO, RingSize
from ringwright.base.wording import either, quoted_path
from ringwright.base.workers import worker_count, worker_pool
from ringwright.making.ring.coil import MadeRing, winding
from ringwright.making.ring.made_ring import made_span
from ringwright.making.shop.mandrel_choice import MandrelChoice, mandrel_choice
from ringwright.making.shop.piece_counts import Layout, Share, laid_out
from ringwright.making.shop.shop import Shop, ShopMandrel, ShopWire, StockRing
from ringwright.metals.metal import Metal
from ringwright.outputs.sweep.sweep import tightest_alone
from ringwright.solver.tightest import Tightest, has_one_limit, known_tightest
from ringwright.weaves.rule import WeaveRule

# A day's work for a small machine, and more than anyone reads.
MOST_CANDIDATES = 2000
# Rings so much wider than the working range are not laid out: they rattle, and finding out
# how takes longest of all.
_FAR = 1.5
FAR_TOO_LOOSE = "far too loose, not laid out"


@dataclass(frozen=True)
class Candidate:
    """One way to have rings: a wire on a mandrel, or rings bought ready cut.

    Attributes
    ----------
    size : of the closed ring
    ratios : its aspect ratio with the least, the likeliest and the most springback
    wire, mandrel, made : of a wound ring; None for bought ones
    stock : of bought rings; None for wound ones
    """

    size: RingSize
    ratios: tuple[float, float, float]
    wire: ShopWire | None = None
    mandrel: ShopMandrel | None = None
    made: MadeRing | None = None
    stock: StockRing | None = None

    @property
    def name(self) -> str:
        """What to take off the shelf."""
        if self.wire is not None and self.mandrel is not None:
            return f"{self.wire.name} on {self.mandrel.name}"
        return self.stock.name if self.stock is not None else ""

    def judged(self, limits: RatioLimits) -> tuple[str, bool]:
        """The verdict at the likeliest springback; whether it is that at the least and most.

        Parameters
        ----------
        limits : of rings by their nominal size; the springback of wound ones is counted here
        """
        _, likely, most = self.ratios
        if self.made is not None:
            limits = limits.with_springback(likely, most)
        verdict = limits.verdict(self.size.aspect_ratio)
        return verdict, all(limits.verdict(ratio) == verdict for ratio in self.ratios)

    @property
    def metal(self) -> Metal:
        """Of its wire, or of the bought rings."""
        if self.wire is not None:
            return self.wire.metal
        if self.stock is None:
            raise ValueError("a candidate is of a wire or of bought rings")
        return self.stock.metal

    @property
    def density_g_per_cm3(self) -> float:
        """Of its metal."""
        return self.metal.density_g_per_cm3


@dataclass(frozen=True)
class Fit:
    """A candidate judged.

    Attributes
    ----------
    verdict : at the likeliest springback
    sure : whether it is the same with the least and the most springback
    limits : what the verdict is taken from
    off_middle : how far the aspect ratio is from the middle of the working range
    layout : None where the weave cannot be woven, or was not laid out; ``note`` says why
    wire_mm : wire to cut for the main rings, with kerf, coil ends and tails; None for
        bought rings
    mass_g : of the finished piece without a clasp
    cost : of the metal; None where no price is known
    """

    candidate: Candidate
    verdict: str
    sure: bool
    limits: RatioLimits
    off_middle: float
    layout: Layout | None
    note: str
    wire_mm: float | None
    mass_g: float | None
    cost: float | None


@dataclass(frozen=True)
class RingsToBuy:
    """Ready rings of one wire that work: any inner diameter from lowest to highest.

    Both ends are rounded to 0.01 mm towards the safe side.
    """

    wire_mm: float
    lowest_mm: float
    highest_mm: float


@dataclass(frozen=True)
class Match:
    """The answer: everything on the shelf, best first.

    Attributes
    ----------
    left_out : what makes no ring at all, and why
    shares : the metals of a piece in several, of which each choice counts its own rings; else none
    limits, mandrels, to_buy, rings_to_buy : empty where other rings are fixed in millimetres
    mandrels : for each wire the mandrel wanted and its neighbours on the shelf
    to_buy : for each wire the mandrel wanted and its neighbours in 0.5 mm steps; the first
        is that nearest to a mandrel on the shelf. Empty when something is in the working
        range
    rings_to_buy : for each thickness of wire on the shelf the ready rings that would work;
        empty when something is in the working range
    """

    rule: WeaveRule
    shop: Shop
    length_mm: float
    fits: tuple[Fit, ...]
    left_out: tuple[tuple[str, str], ...]
    limits: tuple[tuple[str, RatioLimits], ...]
    mandrels: tuple[tuple[ShopWire, MandrelChoice], ...]
    to_buy: tuple[tuple[ShopWire, MandrelChoice], ...]
    rings_to_buy: tuple[RingsToBuy, ...]
    shares: tuple[str, ...] = ()

    def cautions(self) -> tuple[str, ...]:
        """What to know about the metals of all rings that can be woven."""
        owners = [
            fit.candidate.wire or fit.candidate.stock for fit in self.fits if fit.verdict != CANNOT
        ]
        said = [one for owner in owners if owner is not None for one in owner.metal.cautions()]
        return tuple(dict.fromkeys(said))

    @property
    def best(self) -> Fit | None:
        """The first in the list, if it can be woven."""
        return self.fits[0] if self.fits and self.fits[0].verdict != CANNOT else None


def candidates(shop: Shop) -> tuple[tuple[Candidate, ...], tuple[tuple[str, str], ...]]:
    """Every wire on every mandrel, and every bought ring; and what makes no ring, with why.

    Raises
    ------
    BadInput
        When the shop has nothing that makes a ring, or more than 2000 ways to.
    """
    count = len(shop.wires) * len(shop.mandrels) + len(shop.stock_rings)
    if count == 0:
        raise BadInput(
            f"the shop file {quoted_path(shop.path)} has no rings to try: expected [[wire]] with "
            "[[mandrel]], or [[stock_ring]]"
        )
    if count > MOST_CANDIDATES:
        raise BadInput(
            f"the shop file {quoted_path(shop.path)} has {count} wires on mandrels and bought "
            f"rings, but at most {MOST_CANDIDATES} are tried: leave some out"
        )
    found, left_out = [], []
    for wire in shop.wires:
        for mandrel in shop.mandrels:
            try:
                found.append(_wound(shop, wire, mandrel))
            except BadInput as error:
                left_out.append((f"{wire.name} on {mandrel.name}", error.typed))
    for ring in shop.stock_rings:
        found.append(Candidate(ring.size, (ring.size.aspect_ratio,) * 3, stock=ring))
    if not found:
        what, why = left_out[0]
        raise BadInput(
            f"nothing in the shop file {quoted_path(shop.path)} makes a ring; {what}: {why}"
        )
    return tuple(found), tuple(left_out)


def _wound(shop: Shop, wire: ShopWire, mandrel: ShopMandrel) -> Candidate:
    low, made, high = made_span(mandrel.mandrel_mm, wire.wire_mm, wire.bending, shop.cut)
    ratio = made.ring.aspect_ratio
    if not LOWEST_RATIO <= ratio <= HIGHEST_RATIO:
        raise BadInput(f"its aspect ratio of {ratio:.4g} is outside 1 to 50")
    ratios = (low.ring.aspect_ratio, ratio, high.ring.aspect_ratio)
    return Candidate(made.ring, ratios, wire=wire, mandrel=mandrel, made=made)


def match(
    rule: WeaveRule,
    shop: Shop,
    length_mm: float,
    width_mm: float | None = None,
    on_progress: Progress = quiet,
    workers: int | None = None,
    shares: Mapping[str, Share] | None = None,
) -> Match:
    """Judge everything on the shelf for a weave, best first.

    Ranked by verdict (working, loose, very tight, at the limit, cannot), then by how near the
    aspect ratio is to the middle of the working range, then by cost.

    Parameters
    ----------
    length_mm, width_mm : of the piece, as for a preview
    workers : processes, one per core if None; with 0 all is done in this one
    shares : of a piece in several metals the rings of each, by its name: what is on the shelf is
        judged for the rings of its own metal alone; None where all rings are of one

    Raises
    ------
    BadInput
        When the shop has no rings to try, the rule's placement does not have its links, or a
        worker is lost.
    """
    found, left_out = candidates(shop)
    if shares is not None:
        found, left_out = _of_metals(shop, found, left_out, shares)
    asked = [
        (rule, one.size, length_mm, width_mm, shares[one.metal.name] if shares else None)
        for one in found
    ]
    try:
        outcomes = _outcomes(rule, asked, on_progress, workers)
    except BrokenProcessPool as error:
        raise BadInput(
            "a worker process was stopped from outside, perhaps because memory ran out; try "
            "fewer --workers"
        ) from error
    fits, unplaced = [], []
    for one, (limits_here, layout, note) in zip(found, outcomes, strict=True):
        if limits_here is None:
            unplaced.append((one.name, note))
            continue
        fits.append(_fit(shop, one, limits_here, layout, note))
    if not fits:
        raise BadInput(unplaced[0][1])
    # Beside rings that are fixed, each ring has limits of its own, which say nothing of others.
    limits = {} if rule.has_fixed_rings else _limits_by_wire(shop, fits)
    mandrels_mm = [mandrel.mandrel_mm for mandrel in shop.mandrels]
    working = any(fit.verdict == WORKING for fit in fits)
    to_buy = [] if working else _choices(shop, limits, None)
    to_buy.sort(key=lambda bought: _way_to(mandrels_mm, bought[1]))
    return Match(
        rule=rule,
        shop=shop,
        length_mm=length_mm,
        fits=tuple(sorted(fits, key=_rank)),
        left_out=(*left_out, *unplaced),
        limits=tuple(limits.items()),
        mandrels=tuple(_choices(shop, limits, mandrels_mm)) if mandrels_mm else (),
        to_buy=tuple(to_buy),
        rings_to_buy=() if working or rule.has_fixed_rings else _rings_to_buy(fits),
        shares=tuple(shares or ()),
    )


def _of_metals(
    shop: Shop,
    found: Sequence[Candidate],
    left_out: Sequence[tuple[str, str]],
    shares: Mapping[str, Share],
) -> tuple[tuple[Candidate, ...], tuple[tuple[str, str], ...]]:
    """The candidates of these metals, and what is left out for want of any."""
    kept = tuple(one for one in found if one.metal.name in shares)
    there = {one.metal.name for one in kept}
    none = [(name, "nothing on the shelf is of this metal") for name in shares if name not in there]
    if not kept:
        raise BadInput(
            f"nothing in the shop file {quoted_path(shop.path)} is of {either(list(shares))}, of "
            "which the rings are to be"
        )
    other = [
        (one.name, f"of {one.metal.name}, of which the piece has no ring")
        for one in found
        if one.metal.name not in shares
    ]
    return kept, (*left_out, *none, *other)


def _rank(fit: Fit) -> tuple[int, bool, float, float, str]:
    cost = math.inf if fit.cost is None else fit.cost
    return (
        ORDER.index(fit.verdict),
        not fit.sure,
        round(fit.off_middle, 4),
        cost,
        fit.candidate.name,
    )


def _way_to(mandrels_mm: Sequence[float], choice: MandrelChoice) -> float:
    """How far the mandrel wanted is from the nearest on the shelf."""
    return min((abs(size - choice.exact_mm) for size in mandrels_mm), default=0.0)


# --- settling -------------------------------------------------------------------------

_Asked = tuple[WeaveRule, RingSize, float, float | None, Share | None]
# The limits are None where the rule cannot be laid out with such a ring at all.
_Outcome = tuple[RatioLimits | None, Layout | None, str]


def _outcomes(
    rule: WeaveRule, asked: Sequence[_Asked], on_progress: Progress, workers: int | None
) -> list[_Outcome]:
    """Limits, layout and note of each size, in order."""
    done: dict[int, _Outcome] = {}
    with worker_pool(worker_count(workers, len(asked))) as pool:
        # The first task forks the workers, before a progress bar has a thread of its own.
        pool.submit(os.getpid).result()
        limit = None
        if has_one_limit(rule):
            limit = known_tightest(
                rule,
                asked[0][1],
                on_progress=lambda ready, of: on_progress("tightest ring", ready, of),
                workers=workers,
            )
            limit = with_other_shapes(rule, [one[1] for one in asked], limit)
        tasks = {pool.submit(_laid_out, *one, limit): n for n, one in enumerate(asked)}
        for task in as_completed(tasks):
            done[tasks[task]] = task.result()
            on_progress("rings on the shelf", len(done), len(asked))
    return [done[n] for n in range(len(asked))]


def _laid_out(
    rule: WeaveRule,
    size: RingSize,
    length_mm: float,
    width_mm: float | None,
    share: Share | None,
    limit: Tightest | None,
) -> _Outcome:
    try:
        limit = limit or tightest_alone(rule, size)
    except BadInput as error:
        # Rings that the rule fixes in millimetres may be far too large or small for this one.
        return None, None, error.typed
    limits = limits_of(rule, size, limit)
    if not limits.closes(size.aspect_ratio):
        return limits, None, ""
    if size.aspect_ratio > _FAR * max(limits.working_range):
        return limits, None, FAR_TOO_LOOSE
    try:
        report = check(rule, size, limit=limit)
        return limits, laid_out(report, length_mm, width_mm, share), ""
    except (NoRest, BadInput) as error:
        return limits, None, error.typed


# --- judging --------------------------------------------------------------------------


def _fit(shop: Shop, one: Candidate, limits: RatioLimits, layout: Layout | None, note: str) -> Fit:
    verdict, sure = one.judged(limits)
    wire_mm = mass_g = cost = None
    if layout is not None:
        mass_g = layout.metal_mm3 * one.density_g_per_cm3 / 1000.0
        if one.made is not None and one.wire is not None and layout.main_rings:
            wire_mm = winding(one.made, layout.main_rings, shop.coil_mm).wire_mm
            # Rings of other sizes are counted by their metal, at this wire's price.
            section_mm2 = math.pi * one.wire.wire_mm**2 / 4.0
            cost = one.wire.price(wire_mm + layout.other_metal_mm3 / section_mm2)
        elif one.stock is not None:
            cost = one.stock.price(layout.main_rings)
    off = abs(one.size.aspect_ratio - limits.middle)
    return Fit(one, verdict, sure, limits, off, layout, note, wire_mm, mass_g, cost)


def _limits_by_wire(shop: Shop, fits: Sequence[Fit]) -> dict[str, RatioLimits]:
    """Per wire what is asked of the ratio: at its ring that comes nearest to the middle."""
    limits: dict[str, RatioLimits] = {}
    for wire in shop.wires:
        own = [fit for fit in fits if fit.candidate.wire is wire]
        if nearest := min(own, key=lambda fit: fit.off_middle, default=None):
            limits[wire.name] = nearest.limits
        elif fits:
            limits[wire.name] = fits[0].limits
    return limits


def _rings_to_buy(fits: Sequence[Fit]) -> tuple[RingsToBuy, ...]:
    """For each thickness of wire, by the limits of its ring that comes nearest to the middle."""
    nearest: dict[float, Fit] = {}
    for fit in sorted(fits, key=lambda fit: fit.off_middle):
        nearest.setdefault(fit.candidate.size.wire_mm, fit)
    spans = {wire: inner_span_mm(nearest[wire].limits, wire) for wire in sorted(nearest)}
    return tuple(RingsToBuy(wire, *span) for wire, span in spans.items() if span is not None)


def _choices(
    shop: Shop, limits: dict[str, RatioLimits], mandrels_mm: Sequence[float] | None
) -> list[tuple[ShopWire, MandrelChoice]]:
    chosen = []
    for wire in shop.wires:
        if wire.name not in limits:
            continue
        try:
            choice = mandrel_choice(
                wire.wire_mm, wire.bending, shop.cut, limits[wire.name], mandrels_mm
            )
        except BadInput:
            # No mandrel at all makes such a ring of this wire.
            continue
        chosen.append((wire, choice))
    return chosen
