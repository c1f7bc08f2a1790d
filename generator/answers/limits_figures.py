"""The figures of how far a weave goes: pushed, bent, closed into a ring, put together, loaded."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ringwright.answers.check_figures import SEARCHED_WORKING, CheckFigures, image_figure, is_next
from ringwright.answers.limits import Limits
from ringwright.answers.weave_figures import CommonFigures, common_of, common_text
from ringwright.base.figures import REPEATS, Figures, Said, Unit, joined, read_from
from ringwright.base.wording import listed
from ringwright.movement.assembly import MODEL, StepWay
from ringwright.movement.bend import Bend
from ringwright.movement.eye import Eye
from ringwright.movement.loads import Load
from ringwright.movement.loops import Loop
from ringwright.movement.play import Play
from ringwright.weaves.rule import Image

_FOUND_MM, _PLAY_MM, _SHARE = Unit("mm", 4), Unit("mm", 6), Unit("", 4)


@dataclass(frozen=True)
class _Played:
    play: Play
    scale: float


_play = read_from(_Played)


@dataclass(frozen=True)
class PlayFigures(Figures[_Played]):
    """How far one length of a weave gives."""

    longest_mm: float = _play(lambda one: one.play.longest * one.scale, "pulled", _PLAY_MM)
    shortest_mm: float = _play(lambda one: one.play.shortest * one.scale, "pushed", _PLAY_MM)
    percent: float = _play(
        lambda one: one.play.percent, "how much shorter it can be pushed", Unit("%", 4)
    )
    starts_agreed: tuple[int, int] = _play(
        lambda one: (one.play.agreed, one.play.starts),
        "how many starts came to the shortest, and of how many",
    )


@dataclass(frozen=True)
class _Seen:
    found: Limits
    eye: Eye


_eye = read_from(_Seen)


@dataclass(frozen=True)
class EyeFigures(Figures[_Seen]):
    """The room left in a ring."""

    ring: str = _eye(
        lambda one: one.found.report.rule.rings[one.eye.ring].name, "its name in the rule"
    )
    thickest_wire_mm: float = _eye(
        lambda one: 2 * one.eye.wire_radius * _scale(one.found),
        "the thickest wire that still goes through",
        _FOUND_MM,
    )
    converged: bool = _eye(lambda one: one.eye.converged, "whether the solver came to an end")


@dataclass(frozen=True)
class _Bent:
    bend: Bend
    scale: float


_bend = read_from(_Bent)


@dataclass(frozen=True)
class BendFigures(Figures[_Bent]):
    """The tightest bend of a chain in one direction."""

    direction: str = _bend(lambda one: one.bend.direction, "which way it is bent")
    degrees_per_repeat: float = _bend(
        lambda one: one.bend.degrees, "from one repeat to the next", Unit("degrees", 4)
    )
    inner_radius_mm: float = _bend(
        lambda one: one.bend.inner_radius * one.scale, "from the axis to the metal", _FOUND_MM
    )
    converged: bool = _bend(lambda one: one.bend.converged, "whether the solver came to an end")


@dataclass(frozen=True)
class _Looped:
    direction: str
    loop: Loop | None
    scale: float


_loop = read_from(_Looped)


@dataclass(frozen=True)
class LoopFigures(Figures[_Looped]):
    """A chain closed into a ring; null figures where none was found to close."""

    direction: str = _loop(lambda one: one.direction, "which way it is bent")
    repeats: int | None = _loop(
        lambda one: one.loop.repeats if one.loop else None, "in the closed ring", REPEATS
    )
    inner_circumference_mm: float | None = _loop(
        lambda one: one.loop.inner_circumference * one.scale if one.loop else None,
        "round the inside",
        _FOUND_MM,
    )
    shorter_than_flat_mm: float | None = _loop(
        lambda one: one.loop.lost * one.scale if one.loop else None,
        "how much shorter that is than the chain lying straight",
        _FOUND_MM,
    )
    starts_agreed: tuple[int, int] | None = _loop(
        lambda one: (one.loop.agreed, one.loop.starts) if one.loop else None,
        "how many starts came to this inside, and of how many",
    )


@dataclass(frozen=True)
class _Stepped:
    step: StepWay
    scale: float


_step = read_from(_Stepped)


@dataclass(frozen=True)
class StepFigures(Figures[_Stepped]):
    """How a ring is put in at this size; null figures where no way was found."""

    ring: str = _step(lambda one: one.step.ring, "its name in the rule")
    way_found: bool = _step(lambda one: one.step.way is not None, "whether a way in was found")
    opened_mm: float | None = _step(
        lambda one: one.step.way.gap * one.scale if one.step.way else None,
        "how far the ring is opened",
        _FOUND_MM,
    )
    turns: float | None = _step(
        lambda one: one.step.way.turned if one.step.way else None,
        "how far it is turned, as a share of a full turn",
        _SHARE,
    )
    neighbours_give_way_mm: float | None = _step(
        lambda one: one.step.way.pushed * one.scale if one.step.way else None,
        "how far rings about it give way",
        _FOUND_MM,
    )
    effort: str | None = _step(
        lambda one: one.step.way.effort if one.step.way else None, "how hard it is, in words"
    )
    openings_tried: int | None = _step(
        lambda one: one.step.way.tries if one.step.way else None, "until one was wide enough"
    )


@dataclass(frozen=True)
class _Pressed:
    found: Limits
    rings: tuple[str, str]
    image: Image
    force: float
    count: int = 1
    even: bool = True


_press = read_from(_Pressed)


@dataclass(frozen=True)
class ContactFigures(Figures[_Pressed]):
    """Two rings that press on each other when the weave is pulled."""

    rings: tuple[str, str] = _press(lambda one: one.rings, "their names in the rule")
    image: int | tuple[int, ...] = _press(
        lambda one: image_figure(one.found.report.rule, one.image), "as of links"
    )
    force: float = _press(lambda one: one.force, "as a share of the pull", _SHARE)


@dataclass(frozen=True)
class LoadFigures(Figures[_Pressed]):
    """Contacts that lie alike, and what each bears when the weave is pulled."""

    rings: tuple[str, str] = _press(lambda one: one.rings, "the names of two that touch")
    image: int | tuple[int, ...] = _press(
        lambda one: image_figure(one.found.report.rule, one.image), "as of links"
    )
    contacts: int = _press(lambda one: one.count, "such contacts in one repeat")
    force: float = _press(lambda one: one.force, "their mean, as a share of the pull", _SHARE)
    even: bool = _press(lambda one: one.even, "whether each bears as much")


def _scale(found: Limits) -> float:
    return found.report.size.core_radius_mm


def _given(found: Limits, play: Play | None) -> PlayFigures | None:
    return None if play is None else PlayFigures.of(_Played(play, _scale(found)))


def _bends(found: Limits, bends: tuple[Bend, ...]) -> tuple[BendFigures, ...]:
    return tuple(BendFigures.of(_Bent(bend, _scale(found))) for bend in bends)


def _loops(found: Limits, loops: tuple[tuple[str, Loop | None], ...]) -> tuple[LoopFigures, ...]:
    return tuple(LoopFigures.of(_Looped(name, loop, _scale(found))) for name, loop in loops)


def _loads(found: Limits) -> tuple[LoadFigures, ...]:
    names = [ring.name for ring in found.report.rule.rings]

    def figures(load: Load) -> LoadFigures:
        one, two, image = load.contact
        rings = (names[one], names[two])
        return LoadFigures.of(_Pressed(found, rings, image, load.force, load.count, load.even))

    return tuple(map(figures, found.loads))


# --- in words -------------------------------------------------------------------------

_GUIDED = "rings keep their tilt and move until they meet"
_CRUMPLED = "rings tip over freely, every repeat alike"
_SLANTED = (
    "contacts side by side may add up to more than the pull, because rings press at a slant and "
    "only the part along the chain carries the pull"
)
_RATIO = Unit("", 9, shown=3)
_SHOWN_MM, _INSIDE_MM = Unit("mm", 6, shown=2), Unit("mm", 4, shown=1)


def _guided(play: PlayFigures | None, said: Said) -> str:
    if play is None:
        return ""
    return (
        f"{play.percent:.0f} %: a repeat measures {said(play.longest_mm, _SHOWN_MM)} pulled "
        f"straight and {said(play.shortest_mm, _SHOWN_MM)} pushed together in line ({_GUIDED})"
    )


def _crumpled(play: PlayFigures | None, said: Said) -> str:
    if play is None:
        return ""
    agreed, starts = play.starts_agreed
    return (
        f"at least {_floor(play.percent, 0):.0f} %: down to {said(play.shortest_mm, _SHOWN_MM)} "
        f"({_CRUMPLED}; {agreed} of {starts} starts agree)"
    )


def _eyes(figures: LimitsFigures, said: Said) -> str:
    """The room in each ring; those with as much together."""
    groups: dict[float, list[str]] = {}
    for eye in figures.eyes:
        groups.setdefault(eye.thickest_wire_mm, []).append(eye.ring)
    rooms = [
        f"{listed(names)} {said(_floor(room_mm, 2), _SHOWN_MM)}"
        for room_mm, names in groups.items()
    ]
    return f"at least: {'; '.join(rooms)} (thickest extra wire that was found to pass)"


def _floor(value: float, digits: int) -> float:
    """A figure that is said to be reached at least, rounded down."""
    return math.floor(value * 10.0**digits + 1e-6) / float(10.0**digits)


def _bend_words(bends: Sequence[BendFigures], said: Said) -> list[str]:
    return _by_direction([(bend.direction, _bend_text(bend, said)) for bend in bends])


def _bend_text(bend: BendFigures, said: Said) -> str:
    end = "" if bend.converged else "; the search was not finished, so it may bend further"
    return (
        f"{bend.degrees_per_repeat:.0f} degrees from one repeat to the next, "
        f"{said(bend.inner_radius_mm, _SHOWN_MM)} from the axis to the nearest metal{end}"
    )


def _loop_words(loops: Sequence[LoopFigures], said: Said) -> list[str]:
    return _by_direction([(loop.direction, _loop_text(loop, said)) for loop in loops])


def _loop_text(loop: LoopFigures, said: Said) -> str:
    if loop.repeats is None:
        return "does not close"
    return (
        f"{loop.repeats} repeats, {said(loop.inner_circumference_mm, _INSIDE_MM)} round the "
        f"inside: {said(loop.shorter_than_flat_mm, _INSIDE_MM)} less than the same chain lying flat"
    )


def _by_direction(texts: list[tuple[str, str]]) -> list[str]:
    """A line for each direction, or one where all say the same."""
    if len(texts) > 1 and len({text for _, text in texts}) == 1:
        return [f"{texts[0][1]}, {' or '.join(direction for direction, _ in texts)}"]
    return [f"{direction}: {text}" for direction, text in texts]


def _working(figures: LimitsFigures, said: Said) -> str:
    """The working minimum; or that none is found, and for which ring."""
    working = figures.working_min_aspect_ratio
    if working is not None:
        return f"{said(working, SEARCHED_WORKING)} ({figures.working_min_model})"
    stuck = listed([step.ring for step in figures.assembly_steps if not step.way_found])
    text = (
        f"none found: at {said(figures.aspect_ratio, _RATIO)} the search found no way in for "
        f"{stuck}, which is no proof that there is none"
    )
    common = figures.common_aspect_ratio
    if common is None:
        return text
    return f"{text}; makers weave it at {common_text(common)} ({common.provenance})"


def _steps(figures: LimitsFigures, said: Said) -> list[str]:
    return [_step_text(n, step, said) for n, step in enumerate(figures.assembly_steps, start=1)]


def _step_text(number: int, step: StepFigures, said: Said) -> str:
    text = f"step {number}, ring {step.ring}: "
    if not step.way_found:
        return f"{text}no way in was found at this size"
    return (
        f"{text}goes in opened by {said(step.opened_mm, _SHOWN_MM)} and turned by "
        f"{step.turns:.2f} of a full turn; rings about it give way by up to "
        f"{said(step.neighbours_give_way_mm, _INSIDE_MM)}: {step.effort}"
    )


def _load_words(figures: LimitsFigures, _: Said) -> list[str]:
    if not figures.loads:
        return []
    first, *others = map(_load_text, figures.loads)
    return [f"most on {first}", *others, *([_SLANTED] if figures.pushes_slant else [])]


def _load_text(load: LoadFigures) -> str:
    one, two = load.rings
    other = f"the next {two}" if is_next(load.image) else two
    each = "each" if load.even else "on average"
    many = "" if load.contacts == 1 else f" {each}, in {load.contacts} such contacts of a repeat"
    return f"{one} and {other}: {100 * load.force:.0f} % of the pull{many}"


_of = read_from(Limits)


@dataclass(frozen=True)
class LimitsFigures(Figures[Limits]):
    """What the limits add to the check of their size, and override of it."""

    play: PlayFigures | None = _of(
        lambda found: _given(found, found.play.guided if found.play else None),
        "along the repeat, guided straight; null for a piece without repeats",
        head="play, guided",
        words=lambda figures, said: _guided(figures.play, said),
    )
    crumpled: PlayFigures | None = _of(
        lambda found: _given(found, found.play.crumpled if found.play else None),
        "along the repeat, rings falling over as they like",
        head="play, crumpled",
        words=lambda figures, said: _crumpled(figures.crumpled, said),
    )
    play_across: PlayFigures | None = _of(
        lambda found: _given(found, found.across.guided if found.across else None),
        "of a sheet's rows; null for anything else",
        head="play across, guided",
        words=lambda figures, said: _guided(figures.play_across, said),
    )
    crumpled_across: PlayFigures | None = _of(
        lambda found: _given(found, found.across.crumpled if found.across else None),
        "the same of a sheet's rows",
        head="play across, crumpled",
        words=lambda figures, said: _crumpled(figures.crumpled_across, said),
    )
    eyes: tuple[EyeFigures, ...] = _of(
        lambda found: tuple(EyeFigures.of(_Seen(found, eye)) for eye in found.eyes),
        "the room left in each ring, in the rule's order",
        head="room left in each eye",
        words=_eyes,
    )
    bends: tuple[BendFigures, ...] = _of(
        lambda found: _bends(found, found.bends),
        "the tightest bends all along a chain",
        head="tightest bend",
        words=lambda figures, said: _bend_words(figures.bends, said),
    )
    joint_bends: tuple[BendFigures, ...] = _of(
        lambda found: _bends(found, found.joints),
        "and at one joint alone",
        head="bend at one place",
        words=lambda figures, said: _bend_words(figures.joint_bends, said),
    )
    smallest_loops: tuple[LoopFigures, ...] = _of(
        lambda found: _loops(found, found.loops),
        "the smallest rings it closes into",
        head="smallest loop",
        words=lambda figures, said: _loop_words(figures.smallest_loops, said),
    )
    bracelets: tuple[LoopFigures, ...] = _of(
        lambda found: _loops(found, found.bracelets),
        "rings of as many repeats as were asked for",
        head="bracelet",
        words=lambda figures, said: _loop_words(figures.bracelets, said),
    )
    aspect_ratio: float = _of(lambda found: found.report.size.aspect_ratio, "as checked", _RATIO)
    working_min_aspect_ratio: float | None = _of(
        lambda found: found.working_aspect_ratio,
        "the smallest at which a way in was found for every ring; null where none was",
        SEARCHED_WORKING,
        head="working minimum",
        words=_working,
    )
    common_aspect_ratio: CommonFigures | None = _of(
        lambda found: common_of(found.report.rule), "makers' range; null where the rule gives none"
    )
    working_min_model: str = _of(lambda _: MODEL, "what is taken for a way in")
    assembly_steps: tuple[StepFigures, ...] = _of(
        lambda found: tuple(StepFigures.of(_Stepped(one, _scale(found))) for one in found.steps),
        "how the ring of each step is put in",
        head="putting it together",
        words=_steps,
    )
    load_path: tuple[ContactFigures, ...] = _of(
        lambda found: tuple(
            ContactFigures.of(_Pressed(found, (one, two), image, force))
            for one, two, image, force in found.load_path()
        ),
        "which rings press on each other when it is pulled",
    )
    loads: tuple[LoadFigures, ...] = _of(
        _loads,
        "the same, contacts that lie alike together",
        head="where the pull goes",
        words=_load_words,
    )
    pushes_slant: bool = _of(
        lambda found: found.slanted, "whether rings press on each other at a slant"
    )


def limits_facts(found: Limits) -> dict[str, Any]:
    """The limits as a JSON object: the check's figures and these."""
    return joined(CheckFigures.of(found.report), LimitsFigures.of(found))
