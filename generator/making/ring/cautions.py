"""What can hurt, and at which step: the one place for cautions of the bench.

Common practice, no source, except where a rule is named. What is true of a single metal (nickel,
lead, fumes) stands with that metal (:meth:`ringwright.metals.metal.Metal.cautions`) and
is only gathered here.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from ringwright.base.wording import capitalised
from ringwright.metals.metal import NICKEL_LIMIT, Metal

# Steps in bench order; METAL is about the wire itself, WEAR about the finished piece.
METAL, ANNEAL, WIND, SAW, SHEAR = "metal", "anneal", "wind", "saw", "shear"
DEBURR, CLOSE, OPEN, SORT, WEAVE = "deburr", "close", "open", "sort", "weave"
CLASP, WEAR, ALWAYS = "clasp", "wear", "always"
STEPS = (METAL, ANNEAL, WIND, SAW, SHEAR, DEBURR, CLOSE, OPEN, SORT, WEAVE, CLASP, WEAR, ALWAYS)

# Where a piece is worn; only what changes the cautions.
NECK, FINGER = "neck", "finger"

WINDING = (
    "Winding and cutting: eye protection; hair, sleeves and gloves away from a turning mandrel, "
    "slow speed, and never let go of the wire's end."
)
SMALL_PARTS = "Rings are small enough to choke a child, and cut ends are sharp."
JEWELLERY_ONLY = "This is jewellery: never for lifting, restraint, climbing or pets' leads"
LOCAL_RULES = (
    "Follow safety sheets and local rules, and go to a licensed practitioner where one is "
    "required; all of these come before anything printed here."
)
_UNKNOWN_METAL = (
    "Ask the supplier for a statement of composition: nickel sets off allergies, and lead is not "
    f"for jewellery. {NICKEL_LIMIT}."
)


@dataclass(frozen=True)
class Caution:
    """One short warning and the step it belongs to, one of ``STEPS``."""

    step: str
    text: str


_PICKLE = Caution(
    ANNEAL,
    "Pickle is acid: goggles and gloves, acid into water and never the other way round, cooled "
    "metal only (hot it spits), copper or plastic tongs and nothing of iron in it, then rinse.",
)
_OF_STEPS = (
    Caution(
        ANNEAL,
        "Heat on a fireproof bench, in good air, hair and sleeves tied back; metal stays hot long "
        "after it stops glowing.",
    ),
    Caution(
        WIND,
        "Eye protection on. Hair, sleeves and gloves away from a turning mandrel: it pulls them "
        "in.",
    ),
    Caution(
        WIND,
        "Slow speed, and never let go of the wire's end: under tension it whips. Let the coil "
        "unwind slowly before you take it off.",
    ),
    Caution(
        SAW,
        "Eye protection on. Clamp the coil and keep fingers out of the blade's line; with a flex "
        "shaft or a powered saw no gloves, nothing loose, and wait until it stands still.",
    ),
    Caution(
        SAW,
        "Use the lubricant the blade asks for. Fine metal dust is not to be breathed: mask or "
        "extraction, wipe up wet, wash hands before eating.",
    ),
    Caution(SHEAR, "Eye protection on: cut ends fly, and they are sharp."),
    Caution(
        DEBURR,
        "Cut ends and burrs are sharp until tumbled or filed; keep the tumbler's lid shut while "
        "it runs.",
    ),
    Caution(SORT, "Small parts: keep rings away from children and animals, and sweep the floor."),
    Caution(WEAVE, "Tools slip and ends scratch: work away from your face, and rest your hands."),
    Caution(WEAR, "Small parts come off: not for small children."),
    Caution(WEAR, f"{JEWELLERY_ONLY}."),
)
_NECK_CLASP = Caution(
    CLASP,
    "Anything round a neck can strangle: fit a break-away clasp that opens under a pull, and try "
    "it.",
)
_NECK_LOOP = Caution(
    WEAVE,
    "A closed loop round the neck does not give way and can strangle: better fit a break-away "
    "clasp.",
)
_NECK_WEAR = Caution(
    WEAR, "Round the neck: never on a child, asleep, or near machines; it can strangle."
)
_FINGER_WEAR = Caution(
    WEAR,
    "Take it off at machines and when you work with your hands; it must slide off a "
    "swollen finger too.",
)
_OTHER_WEAR = Caution(WEAR, "Take it off at machines, at sports and in bed: it can catch and pull.")


def cautions_for(
    steps: Collection[str], metal: Metal | None = None, worn: str | None = None
) -> tuple[Caution, ...]:
    """The cautions of the steps that are used, in bench order.

    Those about the metal, about wearing the piece and about local rules are always there.

    Parameters
    ----------
    steps : of ``STEPS``
    metal : None where it is not known; then its composition is to be asked for
    worn : ``"neck"``, ``"finger"`` or anything else
    """
    said = [Caution(METAL, capitalised(text)) for text in metal_cautions(metal)]
    said += [one for one in _OF_STEPS if one.step in {*steps, WEAR}]
    if ANNEAL in steps:
        said += _of_annealing(metal)
    if worn == NECK:
        said += [_NECK_CLASP if CLASP in steps else _NECK_LOOP, _NECK_WEAR]
    else:
        said.append(_FINGER_WEAR if worn == FINGER else _OTHER_WEAR)
    said.append(Caution(ALWAYS, LOCAL_RULES))
    return tuple(sorted(said, key=lambda one: STEPS.index(one.step)))


def _of_annealing(metal: Metal | None) -> list[Caution]:
    """What is never to be done with this metal when it is hot, and what its pickle asks for."""
    how = None if metal is None else metal.annealing
    if metal is None or how is None:
        return [_PICKLE]
    name = capitalised(metal.name)
    never = [Caution(ANNEAL, f"{name}: {text[0].lower()}{text[1:]}") for text in how.never]
    return [_PICKLE, *never] if how.acid else never


def metal_cautions(metal: Metal | None) -> tuple[str, ...]:
    """What to know about a metal; what to ask where none was named."""
    return (_UNKNOWN_METAL,) if metal is None else metal.cautions()
