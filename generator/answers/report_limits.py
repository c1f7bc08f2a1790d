"""How far a weave goes, as words for a maker and as JSON for a script."""

from __future__ import annotations

import math
from typing import Any

from ringwright.answers.limits import Given, Limits
from ringwright.answers.report import image_facts, report_facts, rounded
from ringwright.movement.assembly import MODEL, StepWay
from ringwright.movement.bend import Bend
from ringwright.movement.loads import Load
from ringwright.movement.loops import Loop
from ringwright.movement.play import Play

_GUIDED = "rings keep their tilt and move until they meet"
_CRUMPLED = "rings tip over freely, every repeat alike"
_SLANTED = (
    "contacts side by side may add up to more than the pull, because rings press at a slant and "
    "only the part along the chain carries the pull"
)


def limits_facts(found: Limits) -> dict[str, Any]:
    """The limits as a JSON object: the check's keys and these."""
    scale = found.report.size.core_radius_mm
    rule = found.report.rule
    along, across = found.play, found.across
    return {
        **report_facts(found.report),
        "play": None if along is None else _play_facts(along.guided, scale),
        "play_across": None if across is None else _play_facts(across.guided, scale),
        "crumpled": None if along is None else _play_facts(along.crumpled, scale),
        "crumpled_across": None if across is None else _play_facts(across.crumpled, scale),
        "eyes": [
            {
                "ring": rule.rings[eye.ring].name,
                "thickest_wire_mm": rounded(2 * eye.wire_radius * scale, 4),
                "converged": eye.converged,
            }
            for eye in found.eyes
        ],
        "bends": [_bend_facts(bend, scale) for bend in found.bends],
        "joint_bends": [_bend_facts(bend, scale) for bend in found.joints],
        "smallest_loops": [_loop_facts(name, loop, scale) for name, loop in found.loops],
        "bracelets": [_loop_facts(name, loop, scale) for name, loop in found.bracelets],
        "working_min_aspect_ratio": rounded(found.working_aspect_ratio, 4),
        "working_min_model": MODEL,
        "assembly_steps": [_step_facts(step, scale) for step in found.steps],
        "load_path": [
            {"rings": [one, two], "image": image_facts(rule, image), "force": rounded(force, 4)}
            for one, two, image, force in found.load_path()
        ],
        "loads": [_load_facts(found, load) for load in found.loads],
    }


def _step_facts(step: StepWay, scale: float) -> dict[str, Any]:
    """How a ring is put in at this size; null figures where no way was found."""
    way = step.way
    return {
        "ring": step.ring,
        "way_found": way is not None,
        "opened_mm": None if way is None else rounded(way.gap * scale, 4),
        "turns": None if way is None else rounded(way.turned, 4),
        "neighbours_give_way_mm": None if way is None else rounded(way.pushed * scale, 4),
        "effort": None if way is None else way.effort,
        "openings_tried": None if way is None else way.tries,
    }


def _bend_facts(bend: Bend, scale: float) -> dict[str, Any]:
    return {
        "direction": bend.direction,
        "degrees_per_repeat": rounded(bend.degrees, 4),
        "inner_radius_mm": rounded(bend.inner_radius * scale, 4),
        "converged": bend.converged,
    }


def _load_facts(found: Limits, load: Load) -> dict[str, Any]:
    rule = found.report.rule
    one, two, image = load.contact
    return {
        "rings": [rule.rings[one].name, rule.rings[two].name],
        "image": image_facts(rule, image),
        "contacts": load.count,
        "force": rounded(load.force, 4),
    }


def _loop_facts(direction: str, loop: Loop | None, scale: float) -> dict[str, Any]:
    """A closed ring; null figures where none was found to close."""
    inner = None if loop is None else rounded(loop.inner_circumference * scale, 4)
    lost = None if loop is None else rounded(loop.lost * scale, 4)
    return {
        "direction": direction,
        "repeats": None if loop is None else loop.repeats,
        "inner_circumference_mm": inner,
        "shorter_than_flat_mm": lost,
        "starts_agreed": None if loop is None else [loop.agreed, loop.starts],
    }


def _play_facts(play: Play, scale: float) -> dict[str, Any]:
    return {
        "longest_mm": rounded(play.longest * scale, 6),
        "shortest_mm": rounded(play.shortest * scale, 6),
        "percent": rounded(play.percent, 4),
        "starts_agreed": [play.agreed, play.starts],
    }


def limits_text(found: Limits) -> str:
    """The limits in plain words."""
    scale = found.report.size.core_radius_mm
    lines = ["How far it goes"]
    for name, given in (("play", found.play), ("play across", found.across)):
        lines += [] if given is None else _play_lines(name, given, scale)
    lines.append(_line("room left in each eye", _eyes_text(found, scale)))
    lines += _alike([(bend.direction, _bend_text(bend, scale)) for bend in found.bends], "bend")
    lines += _alike([(bend.direction, _bend_text(bend, scale)) for bend in found.joints], "joint")
    lines += _alike([(name, _loop_text(loop, scale)) for name, loop in found.loops], "loop")
    lines += _alike([(name, _loop_text(loop, scale)) for name, loop in found.bracelets], "bracelet")
    lines.append(_line("working minimum", _working_text(found)))
    lines += [_line("", _step_text(step, scale)) for step in found.steps]
    if found.loads:
        lines += [_line("where the pull goes", _load_text(found, found.loads[0], "most on "))]
        lines += [_line("", _load_text(found, load)) for load in found.loads[1:]]
        lines += [_line("", _SLANTED)] if found.slanted else []
    return "\n".join(lines)


def _working_text(found: Limits) -> str:
    """The working minimum; or that none is found, for which ring, and what makers weave."""
    working, common = found.working_aspect_ratio, found.report.rule.common_aspect_ratio
    if working is not None:
        return f"{working:.3f} ({MODEL})"
    stuck = _listed([step.ring for step in found.steps if step.way is None])
    here = found.report.size.aspect_ratio
    said = f"none found: at {here:.3f} the search found no way in for {stuck}, which is no proof "
    "that there is none"
    if common is None:
        return said
    return f"{said}; makers weave it at {common.low:g} to {common.high:g} ({common.provenance})"


_LABELS = {
    "bend": "tightest bend",
    "joint": "bend of one joint",
    "loop": "smallest loop",
    "bracelet": "bracelet",
}


def _line(name: str, text: str) -> str:
    return f"  {name:<24}{text}"


def _alike(said: list[tuple[str, str]], label: str) -> list[str]:
    """A line for each direction, or one where all say the same."""
    name = _LABELS[label]
    if len(said) > 1 and len({text for _, text in said}) == 1:
        return [_line(name, f"{said[0][1]}, {' or '.join(direction for direction, _ in said)}")]
    return [_line(f"{name}, {direction}", text) for direction, text in said]


def _play_lines(name: str, given: Given, scale: float) -> list[str]:
    guided, crumpled = given.guided, given.crumpled
    return [
        _line(
            f"{name}, guided",
            f"{guided.percent:.0f} %: a repeat measures {guided.longest * scale:.2f} mm pulled "
            f"straight and {guided.shortest * scale:.2f} mm pushed together in line ({_GUIDED})",
        ),
        _line(
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
