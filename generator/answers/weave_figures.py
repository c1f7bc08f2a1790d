"""The figures of a weave itself: what its rule's file says of it and keeps for it."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.base.figures import RINGS, Figures, Unit, read_from
from ringwright.weaves.rule import CommonRange, Minimums, WeaveRule

_MM = Unit("mm")
_common = read_from(CommonRange)


@dataclass(frozen=True)
class CommonFigures(Figures[CommonRange]):
    """The aspect ratios that makers usually choose."""

    low: float = _common(lambda common: common.low, "lowest aspect ratio")
    high: float = _common(lambda common: common.high, "highest aspect ratio")
    provenance: str = _common(lambda common: common.provenance, "where the range is known from")
    note: str | None = _common(
        lambda common: common.note, "why it begins where it does, where that is not plain"
    )


_kept = read_from(Minimums)


@dataclass(frozen=True)
class KeptFigures(Figures[Minimums]):
    """What was computed for a weave when its rule was written."""

    geometric_min_aspect_ratio: float = _kept(
        lambda kept: kept.geometric, "smallest at which the weave exists; geometry only"
    )
    working_min_aspect_ratio: float | None = _kept(
        lambda kept: kept.working, "smallest at which every ring can be put in; null if unknown"
    )
    wire_mm: float | None = _kept(
        lambda kept: kept.wire_mm, "wire that they hold for; null where they hold for all", _MM
    )
    inner_mm: float | None = _kept(
        lambda kept: kept.inner_mm, "inner diameter that they hold for; null for all", _MM
    )


def common_of(rule: WeaveRule) -> CommonFigures | None:
    """Makers' range, if the rule gives one."""
    common = rule.common_aspect_ratio
    return None if common is None else CommonFigures.of(common)


def common_text(common: CommonRange | CommonFigures | None) -> str:
    """The aspect ratios makers usually choose, in words."""
    return "none given" if common is None else f"{common.low:g} to {common.high:g}"


def kept_of(kept: Minimums | None) -> KeptFigures | None:
    """What stands beside it of the minimums that were computed."""
    return None if kept is None else KeptFigures.of(kept)


_of = read_from(WeaveRule)


@dataclass(frozen=True)
class WeaveFigures(Figures[WeaveRule]):
    """One weave."""

    weave: str = _of(lambda rule: rule.name, "the weave's name")
    trade_names: tuple[str, ...] = _of(lambda rule: rule.trade_names, "what else it is called")
    summary: str = _of(lambda rule: rule.summary, "what the weave is")
    family: str = _of(lambda rule: rule.family.name, "how its unit repeats")
    rings_per_repeat: int = _of(lambda rule: rule.rings_per_repeat, "in one repeat", RINGS)
    rings_open: int = _of(
        lambda rule: sum(ring.role == "open" for ring in rule.rings), "of these to open", RINGS
    )
    rings_closed: int = _of(
        lambda rule: sum(ring.role == "closed" for ring in rule.rings),
        "of these to close first",
        RINGS,
    )
    common_aspect_ratio: CommonFigures | None = _of(
        common_of, "makers' range; null where the rule gives none"
    )
    kept_minimums: KeptFigures | None = _of(
        lambda rule: kept_of(rule.computed), "what the rule's file keeps; null for nothing"
    )


@dataclass(frozen=True)
class Listed:
    """Some weaves."""

    rules: tuple[WeaveRule, ...]


_listed = read_from(Listed)


@dataclass(frozen=True)
class WeavesFigures(Figures[Listed]):
    """A list of weaves."""

    weaves: tuple[WeaveFigures, ...] = _listed(
        lambda listed: tuple(map(WeaveFigures.of, listed.rules)), "the weaves, by name"
    )
