"""The figures of how far a weave goes: pushed, bent, closed into a ring, put together, loaded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ringwright.answers.check_figures import SEARCHED_WORKING, CheckFigures, image_figure
from ringwright.answers.limits import Limits
from ringwright.base.figures import REPEATS, Figures, Unit, joined, read_from
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
        return LoadFigures.of(_Pressed(found, rings, image, load.force, load.count))

    return tuple(map(figures, found.loads))


_of = read_from(Limits)


@dataclass(frozen=True)
class LimitsFigures(Figures[Limits]):
    """What the limits add to the check of their size, and override of it."""

    play: PlayFigures | None = _of(
        lambda found: _given(found, found.play.guided if found.play else None),
        "along the repeat, guided straight; null for a piece without repeats",
    )
    play_across: PlayFigures | None = _of(
        lambda found: _given(found, found.across.guided if found.across else None),
        "of a sheet's rows; null for anything else",
    )
    crumpled: PlayFigures | None = _of(
        lambda found: _given(found, found.play.crumpled if found.play else None),
        "along the repeat, rings falling over as they like",
    )
    crumpled_across: PlayFigures | None = _of(
        lambda found: _given(found, found.across.crumpled if found.across else None),
        "the same of a sheet's rows",
    )
    eyes: tuple[EyeFigures, ...] = _of(
        lambda found: tuple(EyeFigures.of(_Seen(found, eye)) for eye in found.eyes),
        "the room left in each ring, in the rule's order",
    )
    bends: tuple[BendFigures, ...] = _of(
        lambda found: _bends(found, found.bends), "the tightest bends all along a chain"
    )
    joint_bends: tuple[BendFigures, ...] = _of(
        lambda found: _bends(found, found.joints), "and at one joint alone"
    )
    smallest_loops: tuple[LoopFigures, ...] = _of(
        lambda found: _loops(found, found.loops), "the smallest rings it closes into"
    )
    bracelets: tuple[LoopFigures, ...] = _of(
        lambda found: _loops(found, found.bracelets), "rings of as many repeats as were asked for"
    )
    working_min_aspect_ratio: float | None = _of(
        lambda found: found.working_aspect_ratio,
        "the smallest at which a way in was found for every ring; null where none was",
        SEARCHED_WORKING,
    )
    working_min_model: str = _of(lambda _: MODEL, "what is taken for a way in")
    assembly_steps: tuple[StepFigures, ...] = _of(
        lambda found: tuple(StepFigures.of(_Stepped(one, _scale(found))) for one in found.steps),
        "how the ring of each step is put in",
    )
    load_path: tuple[ContactFigures, ...] = _of(
        lambda found: tuple(
            ContactFigures.of(_Pressed(found, (one, two), image, force))
            for one, two, image, force in found.load_path()
        ),
        "which rings press on each other when it is pulled",
    )
    loads: tuple[LoadFigures, ...] = _of(_loads, "the same, contacts that lie alike together")


def limits_facts(found: Limits) -> dict[str, Any]:
    """The limits as a JSON object: the check's figures and these."""
    return joined(CheckFigures.of(found.report), LimitsFigures.of(found))
