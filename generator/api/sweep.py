"""``rw.sweep``: one weave at many sizes."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ringwright.api.asked import (
    Length,
    Second,
    WeaveLike,
    asked_out,
    asked_rule,
    asked_state,
    length_text,
)
from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress, quiet
from ringwright.outputs.sweep.sweep import Row, Sweep, over_grid, over_ratios
from ringwright.outputs.sweep.sweep_figures import SweptRows, sweep_facts
from ringwright.outputs.sweep.sweep_report import sweep_text
from ringwright.outputs.sweep.sweep_run import rows_of, run_sweep
from ringwright.weaves.rest_states import PULLED
from ringwright.weaves.rule import WeaveRule


@dataclass(frozen=True, eq=False, repr=False)
class Swept:
    """A weave at many sizes.

    Attributes
    ----------
    asked : the weave and the sizes
    rows : what there is to say of each size, in the order of ``asked.sizes``
    files : kind to path; empty where no files were asked for
    """

    asked: Sweep
    rows: tuple[Row, ...]
    files: dict[str, str]

    def facts(self) -> dict[str, Any]:
        """The JSON object of ``ringwright sweep --json``."""
        return sweep_facts(SweptRows(self.asked, self.rows, self.files))

    def text(self) -> str:
        """What ``ringwright sweep`` prints."""
        return sweep_text(self.asked, self.rows, self.files)

    def __repr__(self) -> str:
        closed = sum(bool(row.can_be_woven) for row in self.rows)
        return f"<Swept {self.asked.rule.name}: {closed} of {len(self.rows)} sizes can be woven>"


def sweep(
    weave: WeaveLike,
    *,
    ratio_from: str | float | None = None,
    ratio_to: str | float | None = None,
    steps: int | None = None,
    wire: Length | None = None,
    wires: str | Iterable[Length] | None = None,
    inners: str | Iterable[Length] | None = None,
    second: Second | None = None,
    laid: str = PULLED.name,
    wrist: Length | None = None,
    finger: Length | None = None,
    neck: Length | None = None,
    oval: str | float | None = None,
    out: str | Path | None = None,
    workers: int | None = 0,
    scheduler: str | None = None,
    fresh: bool = False,
    on_progress: Progress = quiet,
    on_note: Callable[[str], None] = lambda note: None,
) -> Swept:
    """Settle a weave over a range of aspect ratios, or for every wire with every inner diameter.

    Parameters
    ----------
    weave, second : as in ``rw.check``
    ratio_from, ratio_to, steps, wire : a range, of 25 ratios in 1 mm wire when left out
    wires, inners : a grid, as ``"0.8mm,0.9mm"`` or several sizes
    laid : a state to measure every size in besides: ``"on-table"``, a sheet ``"spread"``, or
        ``"hung"`` or ``"worn"``
    wrist, finger, neck, oval : what it is worn on, as in ``rw.check``
    out : ``folder/name`` to write ``name.csv``, ``.json``, ``.svg`` and ``.png``; no files when
        left out. What a stopped sweep of that name kept is taken up again
    workers : processes; 0 is this process alone, None one per core
    scheduler : address of a Dask scheduler to use in place of this machine
    fresh : throw away what a stopped sweep kept
    on_progress : called with (what, done, of)
    on_note : called with a sentence worth knowing

    Returns
    -------
    Swept
        A row for each size, in the order of the sizes; lengths in millimetres.

    Raises
    ------
    BadInput
        When a size or option cannot be used, or the files cannot be written.

    Examples
    --------
    >>> import ringwright as rw
    >>> found = rw.sweep("one-in-one", ratio_from=3, ratio_to=4, steps=2)
    >>> found
    <Swept one-in-one: 2 of 2 sizes can be woven>
    >>> [round(row.repeat_mm, 3) for row in found.rows]
    [6.0, 8.0]
    """
    place = None if out is None else asked_out(out)
    rule = asked_rule(weave, second)
    state = asked_state(rule, laid, wrist, finger, neck, oval)
    asked = _asked(
        rule,
        (_text(ratio_from), _text(ratio_to)),
        (steps, None if wire is None else length_text(wire, "wire")),
        (_list_text(wires, "wire"), _list_text(inners, "inner diameter")),
    )
    asked = replace(asked, state=state)
    if scheduler is not None and workers == 0:
        workers = None
    if place is None:
        return Swept(asked, rows_of(asked, on_progress, workers, scheduler), {})
    rows, files = run_sweep(asked, *place, on_progress, on_note, workers, scheduler, fresh)
    return Swept(asked, rows, files)


def _asked(
    rule: WeaveRule,
    span: tuple[str | None, str | None],
    over: tuple[int | None, str | None],
    grid: tuple[str | None, str | None],
) -> Sweep:
    """The range or the grid, whichever was asked for."""
    wires, inners = grid
    if wires is not None and inners is not None and all(one is None for one in (*span, *over)):
        return over_grid(rule, wires, inners)
    low, high = span
    if low is None or high is None or wires is not None or inners is not None:
        raise BadInput(
            "A sweep takes either --ratio-from and --ratio-to (with --steps and --wire, if you "
            "like) or --wires and --inners; give one of these pairs."
        )
    steps, wire = over
    return over_ratios(
        rule,
        defaults.typed(defaults.SWEEP_WIRE_MM) if wire is None else wire,
        low,
        high,
        defaults.SWEEP_STEPS if steps is None else steps,
    )


def _text(ratio: str | float | None) -> str | None:
    return ratio if ratio is None or isinstance(ratio, str) else f"{ratio!r}"


def _list_text(sizes: str | Iterable[Length] | None, what: str) -> str | None:
    if sizes is None or isinstance(sizes, str):
        return sizes
    return ",".join(length_text(size, what) for size in sizes)
