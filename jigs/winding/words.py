"""What a winder's sheet says: how it is used, what can hurt, and its figures."""

from __future__ import annotations

from ringwright.jigs.parts.jig import Dimensions
from ringwright.jigs.winding.size import SAFETY, WindingGuide
from ringwright.jigs.winding.way import Way


def use(size: WindingGuide, way: Way) -> tuple[str, ...]:
    """How the jig is put together and worked with, step by step."""
    if size.crank == "none":
        return (
            "Drill the guide's bores to size if they are tight, and lay the felt in its pocket, "
            "then the nut and the screw above it.",
            "Thread the wire through the small hole in the guide's nose and on below the mandrel, "
            "the open window up.",
            "Bend the wire's end over the chuck's jaw or through a hole in the mandrel, slide the "
            "guide up to it, its window towards the chuck, and hold it by its handle.",
            "Set the drag so that the wire is just straight before the guide. Start slowly, in the "
            "direction in which the mandrel's top comes towards the side the wire comes from, and "
            "let the coil push the guide along; do not hold it back.",
            "Stop, ease the drag, let the coil unwind by hand and cut the wire.",
        )
    feed = "from the front" if way.y > 0.0 else "from behind"
    thread = (
        f"Thread the wire through the guide's nose, under the mandrel: it comes in {feed}, below "
        "the mandrel, and the open window looks up."
    )
    return (
        "Print all parts as they lie in their files; drill the bores to size if they are tight.",
        "Screw or clamp the crank-end support to the bench, its outer face level with the bench's "
        "edge, so that the crank can swing below the bench. Put the rail into it, the guide and "
        "the far support on the rail, and fasten that support too.",
        "Push the mandrel through the far support, the guide, the anchor and the near support; put "
        "the crank on its end, and tighten both clamps with a millimetre of play at the support.",
        "Lay the felt in the guide's pocket, then the nut in its slot and the screw above it.",
        thread,
        "Push the wire's end through the hole in the anchor and bend it over.",
        "Set the drag so that the wire is just straight before the guide. Turn the crank so that "
        "the mandrel takes the wire along below: its top comes towards the side the wire comes "
        "from. The coil pushes the guide along, and turns lie side by side.",
        "When the coil is long enough, ease the drag, let the crank turn back until the coil is "
        "slack, and cut the wire. Open the anchor and pull the mandrel out by the crank.",
    )


def cautions(size: WindingGuide) -> tuple[str, ...]:
    """What can hurt."""
    shared = (
        "Wear eye protection. Wire under tension whips when it slips or ends, and cut ends are "
        "sharp: keep the last hand's length clamped, and never let go of a loaded crank.",
        "Keep fingers, hair, sleeves and cords away from wire, coil and mandrel; no gloves near "
        "anything that turns.",
        "Look at the printed parts before each use, and stop at the first white line or crack. "
        "Heat from a lamp or a car makes them soft.",
    )
    if size.crank == "none":
        return (
            "Drill: use the slowest gear, at most about 100 turns a minute, with the clutch at its "
            "lowest setting that still winds; clamp the drill, hold the guide by its handle only, "
            "and have the switch where you can let go of it. No gloves at all.",
            *shared,
        )
    return (
        "This winder is made for turning by hand; do not put a drill or motor on it.",
        *shared,
    )


def remarks(size: WindingGuide) -> tuple[str, ...]:
    """What was reckoned with, and what to try first."""
    loads = (
        f"The wire was taken to bend at {size.yield_mpa:.0f} MPa (tempers differ by half): "
        "bending it fully takes this x wire^3 / 6 = "
        f"{size.bend_n_mm:.3g} N mm."
    )
    figures = (
        "Safety, drag, hand force, clamp and plastic strengths are common practice, no source; "
        "rod shear and friction are from memory."
    )
    spring = (
        "A coil opens a little when it is let go: its rings come out larger than the mandrel. "
        "Wind a few turns and measure before you wind a whole coil."
    )
    if size.crank == "none":
        return (loads, figures, spring)
    hand = size.torque_n_mm / size.arm_mm
    return (
        loads,
        f"With drag and a safety of {SAFETY:g} the crank must give {size.torque_n_mm:.3g} N mm, "
        f"which is {hand:.2g} N on its knob.",
        figures,
        spring,
    )


def facts(size: WindingGuide) -> Dimensions:
    """The figures of the jig for its JSON."""
    facts: dict[str, str | float] = {
        "mandrel_mm": size.mandrel_mm,
        "wire_mm": size.wire_mm,
        "coil_hand": size.hand,
        "lead_angle_deg": round(size.lead_deg, 3),
        "coil_bore_mm": size.coil_bore_mm,
        "mandrel_bore_mm": size.mandrel_bore_mm,
        "wire_channel_mm": size.channel_mm,
        "floor_below_wire_mm": round(size.floor_mm, 3),
        "wire_yield_mpa": round(size.yield_mpa, 1),
        "wire_bending_moment_n_mm": round(size.bend_n_mm, 2),
    }
    if size.crank != "none":
        facts |= {
            "cranking_hand": size.crank,
            "longest_coil_mm": size.coil_mm,
            "between_supports_mm": round(size.span_mm, 2),
            "mandrel_above_bench_mm": round(size.height_mm, 2),
            "crank_arm_mm": size.arm_mm,
            "crank_torque_n_mm": round(size.torque_n_mm, 2),
            "screws_per_clamp": size.pinch_screws,
        }
    return facts
