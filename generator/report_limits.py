"""How far a weave goes, as words for a maker and as JSON for a script."""

from __future__ import annotations

from typing import Any

from generator.assembly import MODEL
from generator.bend import Bend, Loop
from generator.limits import Limits
from generator.play import Play
from generator.report import image_facts, report_facts, rounded


def limits_facts(found: Limits) -> dict[str, Any]:
    """The limits as a JSON object: the check's keys and these."""
    scale = found.report.size.core_radius_mm
    rule = found.report.rule
    return {
        **report_facts(found.report),
        "play": _play_facts(found.play, scale),
        "play_across": _play_facts(found.across, scale),
        "eyes": [
            {
                "ring": rule.rings[eye.ring].name,
                "thickest_wire_mm": rounded(2 * eye.wire_radius * scale, 4),
                "converged": eye.converged,
            }
            for eye in found.eyes
        ],
        "bends": [
            {
                "direction": bend.direction,
                "degrees_per_repeat": rounded(bend.degrees, 4),
                "inner_radius_mm": rounded(bend.inner_radius * scale, 4),
                "converged": bend.converged,
            }
            for bend in found.bends
        ],
        "smallest_loops": [_loop_facts(name, loop, scale) for name, loop in found.loops],
        "bracelets": [_loop_facts(name, loop, scale) for name, loop in found.bracelets],
        "working_min_aspect_ratio": rounded(found.working_aspect_ratio, 4),
        "working_min_model": MODEL,
        "assembly_steps": [
            {
                "ring": step.ring,
                "min_aspect_ratio": rounded(step.aspect_ratio, 4),
                "starts_agreed": [step.agreed, step.starts],
            }
            for step in found.steps
        ],
        "load_path": [
            {"rings": [one, two], "image": image_facts(rule, image), "force": rounded(force, 4)}
            for one, two, image, force in found.load_path()
        ],
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
    }


def _play_facts(play: Play | None, scale: float) -> dict[str, Any] | None:
    if play is None:
        return None
    return {
        "longest_mm": rounded(play.longest * scale, 6),
        "shortest_mm": rounded(play.shortest * scale, 6),
        "percent": rounded(play.percent, 4),
        "starts_agreed": [play.agreed, play.starts],
    }


def limits_text(found: Limits) -> str:
    """The limits in plain words."""
    report, rule = found.report, found.report.rule
    scale = report.size.core_radius_mm
    lines = ["How far it goes"]

    def add(name: str, text: str) -> None:
        lines.append(f"  {name:<24}{text}")

    for name, play in (("play", found.play), ("play across", found.across)):
        if play is not None:
            longest, shortest = play.longest * scale, play.shortest * scale
            add(
                name,
                f"{play.percent:.0f} %: a repeat measures {longest:.2f} mm pulled straight and "
                f"{shortest:.2f} mm pushed together ({play.agreed} of {play.starts} starts agree)",
            )
    eyes = ", ".join(
        f"{rule.rings[eye.ring].name} {2 * eye.wire_radius * scale:.2f} mm" for eye in found.eyes
    )
    add("room left in each eye", f"{eyes} (thickest further wire that passes)")
    for bend in found.bends:
        add(f"tightest bend, {bend.direction}", _bend_text(bend, scale))
    for direction, loop in found.loops:
        add(f"smallest loop, {direction}", _loop_text(loop, scale))
    for direction, bracelet in found.bracelets:
        text = "does not close" if bracelet is None else _loop_text(bracelet, scale)
        add(f"bracelet, {direction}", text)
    add("working minimum AR", f"{found.working_aspect_ratio:.3f} ({MODEL})")
    for step in found.steps:
        add("", f"step {step.step + 1}, ring {step.ring}: {step.aspect_ratio:.3f}")
    pressing = ", ".join(
        f"{one} on {two} {100 * force:.0f} %" for one, two, _, force in found.load_path()
    )
    if pressing:
        add("where the pull goes", f"{pressing} of the pull")
    return "\n".join(lines)


def _loop_text(loop: Loop, scale: float) -> str:
    return (
        f"{loop.repeats} repeats, {loop.inner_circumference * scale:.1f} mm round the inside: "
        f"{loop.lost * scale:.1f} mm less than the same chain lying flat"
    )


def _bend_text(bend: Bend, scale: float) -> str:
    end = "" if bend.converged else "; the solver did not come to an end, it may bend further"
    return (
        f"{bend.degrees:.0f} degrees from one repeat to the next, "
        f"{bend.inner_radius * scale:.2f} mm from the axis to the nearest metal{end}"
    )
