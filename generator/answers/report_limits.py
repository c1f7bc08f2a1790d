"""How far a weave goes, as words for a maker and as JSON for a script."""

from __future__ import annotations

import math

from ringwright.answers.limits import Given, Limits
from ringwright.base.terminal import FURTHER, figure_line, wrapped
from ringwright.movement.assembly import MODEL, StepWay
from ringwright.movement.bend import Bend
from ringwright.movement.loads import Load
from ringwright.movement.loops import Loop

_GUIDED = "rings keep their tilt and move until they meet"
_CRUMPLED = "rings tip over freely, every repeat alike"
_SLANTED = (
    "contacts side by side may add up to more than the pull, because rings press at a slant and "
    "only the part along the chain carries the pull"
)


def limits_text(found: Limits) -> str:
    """The limits in plain words."""
    scale = found.report.size.core_radius_mm
    lines = ["How far it goes"]
    for name, given in (("play", found.play), ("play across", found.across)):
        lines += [] if given is None else _play_lines(name, given, scale)
    lines.append(figure_line("room left in each eye", _eyes_text(found, scale)))
    lines += _alike([(bend.direction, _bend_text(bend, scale)) for bend in found.bends], "bend")
    lines += _alike([(bend.direction, _bend_text(bend, scale)) for bend in found.joints], "joint")
    lines += _alike([(name, _loop_text(loop, scale)) for name, loop in found.loops], "loop")
    lines += _alike([(name, _loop_text(loop, scale)) for name, loop in found.bracelets], "bracelet")
    lines.append(figure_line("working minimum", _working_text(found)))
    lines += [figure_line("", _step_text(step, scale)) for step in found.steps]
    if found.loads:
        lines += [figure_line("where the pull goes", _load_text(found, found.loads[0], "most on "))]
        lines += [figure_line("", _load_text(found, load)) for load in found.loads[1:]]
        lines += [figure_line("", _SLANTED)] if found.slanted else []
    return "\n".join(row for line in lines for row in wrapped(line, further=FURTHER))


def _working_text(found: Limits) -> str:
    """The working minimum; or that none is found, for which ring, and what makers weave."""
    working, common = found.working_aspect_ratio, found.report.rule.common_aspect_ratio
    if working is not None:
        return f"{working:.3f} ({MODEL})"
    stuck = _listed([step.ring for step in found.steps if step.way is None])
    here = found.report.size.aspect_ratio
    said = (
        f"none found: at {here:.3f} the search found no way in for {stuck}, which is no proof that "
        "there is none"
    )
    if common is None:
        return said
    return f"{said}; makers weave it at {common.low:g} to {common.high:g} ({common.provenance})"


_LABELS = {
    "bend": "tightest bend",
    "joint": "bend of one joint",
    "loop": "smallest loop",
    "bracelet": "bracelet",
}


def _alike(said: list[tuple[str, str]], label: str) -> list[str]:
    """A line for each direction, or one where all say the same."""
    name = _LABELS[label]
    if len(said) > 1 and len({text for _, text in said}) == 1:
        return [
            figure_line(name, f"{said[0][1]}, {' or '.join(direction for direction, _ in said)}")
        ]
    return [figure_line(f"{name}, {direction}", text) for direction, text in said]


def _play_lines(name: str, given: Given, scale: float) -> list[str]:
    guided, crumpled = given.guided, given.crumpled
    return [
        figure_line(
            f"{name}, guided",
            f"{guided.percent:.0f} %: a repeat measures {guided.longest * scale:.2f} mm pulled "
            f"straight and {guided.shortest * scale:.2f} mm pushed together in line ({_GUIDED})",
        ),
        figure_line(
            f"{name}, crumpled",
            f"at least {_floor(crumpled.percent, 0):.0f} %: down to "
            f"{crumpled.shortest * scale:.2f} mm ({_CRUMPLED}; "
            f"{crumpled.agreed} of {crumpled.starts} starts agree)",
        ),
    ]


def _eyes_text(found: Limits, scale: float) -> str:
    rings = found.report.rule.rings
    said = [
        f"{_listed([rings[ring].name for ring in group])} "
        f"{_floor(2 * found.eyes[group[0]].wire_radius * scale, 2):.2f} mm"
        for group in found.alike
    ]
    return f"at least: {'; '.join(said)} (thickest extra wire that was found to pass)"


def _floor(value: float, digits: int) -> float:
    """A figure that is said to be reached at least, rounded down."""
    return math.floor(value * 10.0**digits + 1e-6) / float(10.0**digits)


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _loop_text(loop: Loop | None, scale: float) -> str:
    if loop is None:
        return "does not close"
    return (
        f"{loop.repeats} repeats, {loop.inner_circumference * scale:.1f} mm round the inside: "
        f"{loop.lost * scale:.1f} mm less than the same chain lying flat"
    )


def _bend_text(bend: Bend, scale: float) -> str:
    end = "" if bend.converged else "; the search was not finished, so it may bend further"
    return (
        f"{bend.degrees:.0f} degrees from one repeat to the next, "
        f"{bend.inner_radius * scale:.2f} mm from the axis to the nearest metal{end}"
    )


def _step_text(step: StepWay, scale: float) -> str:
    said, way = f"step {step.step + 1}, ring {step.ring}: ", step.way
    if way is None:
        return said + "no way in was found at this size"
    return (
        f"{said}goes in opened by {way.gap * scale:.2f} mm and turned by {way.turned:.2f} of a "
        f"full turn; rings about it give way by up to {way.pushed * scale:.1f} mm: {way.effort}"
    )


def _load_text(found: Limits, load: Load, before: str = "") -> str:
    rings = found.report.rule.rings
    one, two, image = load.contact
    other = rings[two].name if image == (0, 0) else f"the next {rings[two].name}"
    each = "each" if load.even else "on average"
    many = "" if load.count == 1 else f" {each}, in {load.count} such contacts of a repeat"
    return f"{before}{rings[one].name} and {other}: {100 * load.force:.0f} % of the pull{many}"
