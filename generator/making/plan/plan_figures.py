"""The figures of a whole plan: the piece's, time and money, and what to do at the bench."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from ringwright.base.figures import (
    MINUTES,
    MONEY,
    PERCENT,
    RATIO,
    SECONDS,
    Figures,
    read_from,
)
from ringwright.making.plan.bench_steps import TITLES, Step, bench_steps
from ringwright.making.plan.piece_figures import Counted, PieceFigures, shown_cost
from ringwright.making.plan.plan import Plan, Work
from ringwright.making.ring.cautions import Caution

HOW_FOUND = {
    "rings": "counted in the piece as it is laid out and drawn, plus clasp rings and spares",
    "coils": "helix of close turns, as many on the mandrel as the same wire makes there and fewer "
    "once it is let go; none is longer on the mandrel than the longest coil; about one turn of "
    "each is lost at its ends, and the tail is held and never wound (common practice, no source)",
    "wire": "each coil's wire rounded up to a whole millimetre; mass from the metal's density",
    "time": "your own paces; for a step you gave none for the usual one (common practice, no "
    "source), where there is one. Every ring is wound, cut, deburred and sorted; closed rings are "
    "closed; open rings are opened and woven in, which includes closing them",
    "price": "overhead is a share of material, clasp and work; the wholesale price is markup times "
    "all of these, and the retail price so many times that",
}

_work = read_from(Work)


@dataclass(frozen=True)
class WorkFigures(Figures[Work]):
    """Time for one step."""

    step: str = _work(lambda work: work.step, "the step")
    times: int = _work(lambda work: work.times, "how often it is done", csv="time")
    done_to: str = _work(
        lambda work: work.of,
        "to what: ring, setting (a wire on a mandrel), load of the tumbler, or piece",
    )
    seconds_each: float | None = _work(
        lambda work: work.seconds_each,
        "each time; null where no pace is known",
        SECONDS,
        csv="time",
    )
    is_usual: bool = _work(
        lambda work: work.is_usual,
        "whether that is the usual pace (common practice, no source), not the maker's own",
    )
    minutes: int | None = _work(
        lambda work: None if work.seconds is None else round(work.seconds / 60.0),
        "for all of them, whole",
        MINUTES,
        csv="time",
    )


@dataclass(frozen=True)
class _Time:
    """The steps that take time, each with its whole minutes."""

    steps: tuple[WorkFigures, ...]

    @property
    def missing(self) -> tuple[str, ...]:
        return tuple(work.step for work in self.steps if work.minutes is None)

    @property
    def minutes(self) -> int | None:
        return None if self.missing else sum(work.minutes or 0 for work in self.steps)


_time = read_from(_Time)


@dataclass(frozen=True)
class TimeFigures(Figures[_Time]):
    """Whole minutes for each step, and their sum."""

    steps: tuple[WorkFigures, ...] = _time(lambda time: time.steps, "in bench order")
    minutes: int | None = _time(
        lambda time: time.minutes, "in all; null where a pace is missing", MINUTES, csv="time"
    )
    in_words: str | None = _time(
        lambda time: None if time.minutes is None else _in_words(time.minutes), "the same"
    )
    missing: tuple[str, ...] = _time(lambda time: time.missing, "steps without a pace")


def _in_words(minutes: int) -> str:
    hours, left = divmod(minutes, 60)
    return f"{hours} h {left} min" if hours else f"{left} min"


@dataclass(frozen=True)
class _Cost:
    """Money, each line rounded to a hundredth; sums are of what is shown."""

    plan: Plan
    minutes: int | None

    @cached_property
    def parts(self) -> dict[str, float | None]:
        """Material and work, and the clasp where there is one."""
        per_hour = self.plan.rates.per_hour
        known = self.minutes is not None and per_hour is not None
        work = (self.minutes or 0) / 60.0 * (per_hour or 0.0) if known else None
        parts = {"material": shown_cost(self.plan.batches), "work": work}
        if self.plan.clasp:
            parts["clasp"] = self.plan.asked.clasp_price
        return {name: MONEY.rounded(part) for name, part in parts.items()}

    @property
    def missing(self) -> tuple[str, ...]:
        return tuple(name for name, part in self.parts.items() if part is None)

    @property
    def overhead(self) -> float | None:
        if self.missing:
            return None
        share = self.plan.rates.overhead_percent / 100.0
        overhead: float = MONEY.rounded(share * sum(part or 0.0 for part in self.parts.values()))
        return overhead

    @property
    def total(self) -> float | None:
        if self.overhead is None:
            return None
        parts = (self.overhead, *self.parts.values())
        total: float = MONEY.rounded(float(sum(part or 0.0 for part in parts)))
        return total

    @property
    def price(self) -> float | None:
        # Half a hundredth goes up, as on paper.
        return None if self.total is None else self.total * self.plan.rates.markup + 1e-9

    @property
    def retail(self) -> float | None:
        if self.price is None:
            return None
        return float(MONEY.rounded(self.price)) * self.plan.rates.retail + 1e-9


_cost = read_from(_Cost)


@dataclass(frozen=True)
class CostFigures(Figures[_Cost]):
    """What the piece costs, and a price."""

    currency: str = _cost(lambda cost: cost.plan.rates.currency, "of every amount")
    material: float | None = _cost(
        lambda cost: cost.parts["material"],
        "wire or bought rings",
        MONEY,
        head="price of the material",
        csv="cost",
    )
    clasp: float | None = _cost(
        lambda cost: cost.parts.get("clasp"), "the clasp; null without one", MONEY, csv="cost"
    )
    per_hour: float | None = _cost(lambda cost: cost.plan.rates.per_hour, "of work", MONEY)
    work: float | None = _cost(lambda cost: cost.parts["work"], "work", MONEY, csv="cost")
    overhead_percent: float = _cost(
        lambda cost: cost.plan.rates.overhead_percent, "of material, clasp and work", PERCENT
    )
    overhead: float | None = _cost(
        lambda cost: cost.overhead, "rent, tools, power, fees", MONEY, csv="cost"
    )
    total: float | None = _cost(
        lambda cost: cost.total, "all of these; null where one is missing", MONEY, csv="cost"
    )
    markup: float = _cost(lambda cost: cost.plan.rates.markup, "the price over the total", RATIO)
    price: float | None = _cost(
        lambda cost: cost.price, "wholesale: markup times total", MONEY, csv="cost"
    )
    retail: float = _cost(
        lambda cost: cost.plan.rates.retail, "the retail price over the wholesale price", RATIO
    )
    retail_is_usual: bool = _cost(
        lambda cost: not cost.plan.rates.retail_is_own,
        "whether that is common practice, no source, not the maker's own",
    )
    retail_price: float | None = _cost(
        lambda cost: cost.retail, "so many times the wholesale price", MONEY, csv="cost"
    )
    missing: tuple[str, ...] = _cost(lambda cost: cost.missing, "what is not known")


_step = read_from(Step)


@dataclass(frozen=True)
class StepFigures(Figures[Step]):
    """One step at the bench."""

    step: str = _step(lambda step: step.step, "the step")
    title: str = _step(lambda step: step.title, "in one or two words")
    do: tuple[str, ...] = _step(lambda step: step.do, "what to do, in sentences")
    cautions: tuple[str, ...] = _step(lambda step: step.cautions, "what to take care of")


_caution = read_from(Caution)


@dataclass(frozen=True)
class CautionFigures(Figures[Caution]):
    """One short warning."""

    step: str = _caution(lambda caution: caution.step, "the step it belongs to")
    title: str = _caution(lambda caution: TITLES[caution.step], "that step in one or two words")
    text: str = _caution(lambda caution: caution.text, "the warning")


@dataclass(frozen=True)
class _Planned(Counted):
    """A plan with what follows from the piece's figures."""

    @cached_property
    def time(self) -> TimeFigures:
        return TimeFigures.of(_Time(tuple(map(WorkFigures.of, self.plan.work))))

    @cached_property
    def steps(self) -> tuple[tuple[Step, ...], tuple[Caution, ...]]:
        return bench_steps(self, PieceFigures.of(self))


_planned = read_from(_Planned)


@dataclass(frozen=True)
class PlanFigures(PieceFigures):
    """All figures of a plan."""

    time: TimeFigures = _planned(lambda made: made.time, "time at the maker's own pace")
    cost: CostFigures = _planned(
        lambda made: CostFigures.of(_Cost(made.plan, made.time.minutes)), "money"
    )
    steps: tuple[StepFigures, ...] = _planned(
        lambda made: tuple(map(StepFigures.of, made.steps[0])), "what to do, in bench order"
    )
    cautions: tuple[CautionFigures, ...] = _planned(
        lambda made: tuple(map(CautionFigures.of, made.steps[1])), "all cautions, in bench order"
    )
    how_found: Mapping[str, str] = _planned(lambda _: HOW_FOUND, "how figures were found")
    files: Mapping[str, str] = _planned(lambda made: made.files, "the files written, by kind")


def plan_figures(plan: Plan, files: Mapping[str, str] | None = None) -> PlanFigures:
    """All figures of a plan; ``files`` are those written of it, by kind."""
    return PlanFigures.of(_Planned(plan, files or {}))
