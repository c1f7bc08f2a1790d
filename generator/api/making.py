"""Metal, cut and measure as they were asked for, from a command's options or a call's."""

from __future__ import annotations

import argparse
from collections.abc import Collection
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.errors import BadInput

if TYPE_CHECKING:
    from ringwright.making.plan.piece_size import Measure
    from ringwright.making.ring.coil import Cut
    from ringwright.making.ring.trials import Trial
    from ringwright.making.ring.wire import Bending
    from ringwright.metals.metal import Metal
    from ringwright.weaves.rule import WeaveRule

PLACES = ("length", "wrist", "ankle", "neck", "finger")


def asked_metal(options: argparse.Namespace, extra: Collection[Metal] = ()) -> Metal | None:
    """The metal that was named, if any; of the maker's own or of the table."""
    from ringwright.metals.metal_names import metal_named

    if options.metal is None:
        if options.temper is not None:
            raise BadInput("--temper has no meaning without --metal; name the metal too.")
        return None
    return metal_named(options.metal, extra)


def asked_bending(options: argparse.Namespace, metal: Metal | None) -> Bending | None:
    """How the wire springs back: by its trials, else by metal and temper; None without either.

    A metal without a listed strength is as good as none, unless a mandrel asks for more.
    """
    from ringwright.base.sizes import parse_length
    from ringwright.making.ring.wire import bending, tried

    trials = _asked_trials(options)
    if trials:
        wire_mm, near = trials[0].wire_mm, None
        if metal is not None and options.temper is not None and metal.has_temper(options.temper):
            near = metal.flow(options.temper, wire_mm)
        return tried(trials, near)
    if metal is not None and not metal.tempers:
        if getattr(options, "mandrel", None) is not None:
            raise BadInput(f"{metal.untried}.")
        return None
    if metal is None or options.temper is None:
        return None
    return bending(metal, options.temper, parse_length(options.wire, "wire"))


def _asked_trials(options: argparse.Namespace) -> list[Trial]:
    from ringwright.base.sizes import parse_length
    from ringwright.making.ring.trials import MOST_TRIALS, Trial

    if options.trial is None:
        if options.caliper is not None:
            raise BadInput("--caliper is about trial rings; give --trial too, or leave it out.")
        return []
    if len(options.trial) > MOST_TRIALS:
        raise BadInput(f"--trial is there {len(options.trial)} times; give at most {MOST_TRIALS}.")
    error_mm = defaults.CALIPER_MM
    if options.caliper is not None:
        error_mm = parse_length(options.caliper, "caliper")
    wire_mm = parse_length(options.wire, "wire")
    return [
        Trial(
            wire_mm,
            parse_length(mandrel, "mandrel of the trial"),
            parse_length(inner, "inner diameter of the trial"),
            None,
            error_mm,
        )
        for mandrel, inner in options.trial
    ]


def asked_cut(options: argparse.Namespace) -> Cut:
    """The saw of that kerf, or the usual cut."""
    from ringwright.base.sizes import parse_length
    from ringwright.making.ring.coil import USUAL_CUT, saw

    return USUAL_CUT if options.kerf is None else saw(parse_length(options.kerf, "kerf"))


def asked_measure(options: argparse.Namespace, rule: WeaveRule) -> Measure | None:
    """What the piece is to fit; None for a finished piece, which has one size only."""
    from ringwright.base.sizes import parse_allowance, parse_length
    from ringwright.making.plan.piece_size import checked_measure

    given = [place for place in PLACES if getattr(options, place) is not None]
    if not rule.family.repeats:
        extra = [*given, *(name for name in ("ease", "clasp") if getattr(options, name))]
        if extra:
            raise BadInput(
                f"{rule.name} is {rule.family.called} without repeats, so it has one size only; "
                f"leave out {', '.join(f'--{name}' for name in extra)}."
            )
        return None
    if len(given) != 1:
        found = " and ".join(f"--{place}" for place in given) or "none of them"
        raise BadInput(
            "expected one of --length, --wrist, --ankle, --neck and --finger, but found "
            f"{found}; say what the piece is to fit."
        )
    place = given[0]
    return checked_measure(
        place,
        parse_length(getattr(options, place), place),
        None if options.ease is None else parse_allowance(options.ease, "ease"),
        None if options.clasp is None else parse_length(options.clasp, "clasp"),
    )
