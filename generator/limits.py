"""Everything about how far a weave goes at one size: play, eyes, bends, assembly, load."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from generator.assembly import StepLimit, working_minimum
from generator.bend import AXES, Bend, Loop, closed_loop, tightest_bend
from generator.eye import Eye, eye_left
from generator.play import Play, play
from generator.verdict import Report


@dataclass(frozen=True, eq=False)
class Limits:
    """How far a weave goes; lengths in units of the main ring's core radius.

    Attributes
    ----------
    play : of the repeat along x; None for a piece without repeats
    across : the same of a sheet's rows along y; None for anything but a sheet
    eyes : of each ring, in the rule's order
    bends : the tightest, up and sideways, for a chain; else empty
    loops : the smallest closed ring in each of these directions that closes
    bracelets : a closed ring of as many repeats as were asked for, in each direction
    steps : how tight each step of the assembly is
    """

    report: Report
    play: Play | None
    across: Play | None
    eyes: tuple[Eye, ...]
    bends: tuple[Bend, ...]
    loops: tuple[tuple[str, Loop], ...]
    bracelets: tuple[tuple[str, Loop | None], ...]
    steps: tuple[StepLimit, ...]

    @property
    def working_aspect_ratio(self) -> float:
        """The smallest aspect ratio at which every step can be done and the weave exists."""
        return max(self.report.tightest.aspect_ratio, *(step.aspect_ratio for step in self.steps))

    def load_path(self) -> list[tuple[str, str, tuple[int, int], float]]:
        """Which rings press on each other when the weave is pulled: names, image, force.

        The force is a share of the pull; contacts under a thousandth of it are left out.
        """
        settled = self.report.settled
        if settled is None or self.play is None:
            return []
        names = [ring.name for ring in self.report.rule.rings]
        held = settled.certificate
        return [
            (names[i], names[j], (k1, k2), float(force))
            for i, j, (k1, k2), force in zip(
                held.pairs.first,
                held.pairs.second,
                held.pairs.image.tolist(),
                held.forces,
                strict=True,
            )
            if force > 1e-3
        ]


def limits(
    report: Report,
    on_progress: Callable[[str, int, int], None],
    repeats: int | None = None,
) -> Limits:
    """Ask every question of a settled weave.

    Parameters
    ----------
    report : of a size that can be woven
    repeats : also close a chain of so many into a bracelet, 3 or more
    on_progress : called with (what, done, of)
    """
    unit, rule = report.unit, report.rule
    chain = unit.lattice.kind == "chain"
    directions = list(AXES) if chain else []
    asked = directions if repeats is not None else []
    total = 2 + len(rule.rings) + len(directions) + len(asked) + len(rule.steps)
    done = 0

    def step() -> None:
        nonlocal done
        on_progress("limits", done, total)
        done += 1

    step()
    along = play(unit) if len(unit.lattice.values) else None
    step()
    across = play(unit, 2) if unit.lattice.kind == "sheet" else None
    eyes = []
    for ring in range(len(rule.rings)):
        step()
        eyes.append(eye_left(unit, ring))
    bends, loops = [], []
    for direction in directions:
        step()
        bend = tightest_bend(unit, direction)
        bends.append(bend)
        loops += [(direction, loop) for loop in _smallest_loop(report, bend)]
    bracelets = []
    for direction in asked:
        step()
        bracelets.append((direction, closed_loop(unit, direction, repeats or 3)))
    steps = working_minimum(rule, report.size, lambda *_: step())
    on_progress("limits", total, total)
    return Limits(
        _judged_by(report, steps),
        along,
        across,
        tuple(eyes),
        tuple(bends),
        tuple(loops),
        tuple(bracelets),
        steps,
    )


def _judged_by(report: Report, steps: Sequence[StepLimit]) -> Report:
    """The report with the working minimum that was computed now, which its verdict then uses."""
    working = max(report.tightest.aspect_ratio, *(step.aspect_ratio for step in steps))
    return replace(report, limits=replace(report.limits, working=working))


def _smallest_loop(report: Report, bend: Bend) -> list[Loop]:
    """The closed ring of fewest repeats that the solver can lay; none within reach, none given."""
    for repeats in range(max(3, bend.fewest_repeats), bend.fewest_repeats + 6):
        loop = closed_loop(report.unit, bend.direction, repeats)
        if loop is not None and loop.inner_circumference > 0.0:
            return [loop]
    return []
