"""What the commands share: common options, printing, the progress bar, where files go."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias, TypedDict

from ringwright.base import defaults
from ringwright.base.arguments import Parser
from ringwright.base.errors import BadInput
from ringwright.base.exit_status import NOT_WOVEN, STEP, STEPS_ASKED
from ringwright.base.progress import Progress
from ringwright.weaves.rest_states import NAMES, PARTS, PULLED, WRIST

if TYPE_CHECKING:
    from ringwright.answers.verdict import Report
    from ringwright.base.sizes import RingSize
    from ringwright.making.shop.shelf_figures import ShelfFigures
    from ringwright.solver.climb import Unit
    from ringwright.weaves.rule import WeaveRule


SIZES = (
    "Give sizes with their unit: 1.2mm, 0.048in, 3/64in, 18awg or 18swg. American (AWG) and "
    "British (SWG) gauges differ, so a bare number or 'ga' is refused."
)


# Where an answer in short ends.
MORE = "'ringwright check' with --why says more."
MOST_WORKERS = 256


if TYPE_CHECKING:
    # What add() of a command is given.
    Commands: TypeAlias = argparse._SubParsersAction[Parser]


def add_json(parser: argparse.ArgumentParser) -> None:
    """Give a command ``--json``."""
    parser.add_argument("--json", action="store_true", help="print the answer as one JSON object")


def add_why(parser: argparse.ArgumentParser) -> None:
    """Give a command that prints a check ``--why``."""
    parser.add_argument(
        "--why", action="store_true", help="give every figure, and say how each was found"
    )


def add_width(parser: argparse.ArgumentParser) -> None:
    """Give a command the width of a sheet."""
    parser.add_argument(
        "--width",
        metavar="LENGTH",
        help="least width of a sheet, measured across its rows (default "
        f"{defaults.typed(defaults.WIDTH_MM)})",
    )


def add_laid(parser: argparse.ArgumentParser, usual: str | None = None) -> None:
    """Give a command the state of its finished piece, which ``asked_state`` reads.

    Parameters
    ----------
    usual : what is done where none is asked for, in words, if that is not pulled straight
    """
    parser.add_argument(
        "--laid",
        default=PULLED.name if usual is None else None,
        choices=NAMES,
        help="how the piece lies: pulled straight, lying on a table as it comes to rest, spread "
        "on a table (sheets), hung from its first ring or row, or worn (default "
        f"{usual or PULLED.name})",
    )
    add_body(parser)


def add_body(parser: argparse.ArgumentParser) -> None:
    """Give a command what its piece is worn on, which ``asked_state`` reads too."""
    for part in PARTS:
        usual = f" (default {defaults.typed(defaults.WRIST_MM)})" if part == WRIST else ""
        parser.add_argument(
            f"--{part}", metavar="LENGTH", help=f"with --laid worn: round the bare {part}{usual}"
        )
    parser.add_argument(
        "--oval",
        metavar="NUMBER",
        help="with --laid worn: width of the wrist divided by its depth, from 1 to 2 (default "
        f"{defaults.OVAL:g})",
    )


class BodyOptions(TypedDict):
    """What a piece is worn on, as it was typed."""

    wrist: str | None
    finger: str | None
    neck: str | None
    oval: str | None


def body_options(options: argparse.Namespace) -> BodyOptions:
    """The options of :func:`add_body`, as the Python API takes them."""
    return {
        "wrist": options.wrist,
        "finger": options.finger,
        "neck": options.neck,
        "oval": options.oval,
    }


def add_metals(parser: argparse.ArgumentParser) -> None:
    """Give a command the metals of a piece, ring by ring."""
    metals = parser.add_mutually_exclusive_group()
    metals.add_argument(
        "--metals",
        metavar="RING=METAL,...",
        help="metals by role or by ring, e.g. open=copper,closed=steel/brass; metals with a / "
        "between them take turns from repeat to repeat",
    )
    metals.add_argument(
        "--pattern",
        metavar="METAL,...",
        help="metals that take turns from ring to ring in the order of weaving, e.g. "
        "3*copper,brass",
    )
    metals.add_argument(
        "--grid",
        metavar="FILE",
        help="for a sheet: a PNG picture with one pixel for each ring, or a CSV table of metals",
    )
    parser.add_argument(
        "--legend",
        metavar="COLOUR=METAL,...",
        help="what the colours of the picture stand for, e.g. '#b46a3c=copper,#d9b054=brass', or "
        "the marks in the cells of the table, e.g. x=copper,o=brass",
    )


def add_size(parser: argparse.ArgumentParser) -> None:
    """Give a command the weave, the wire, and the ring by inner diameter or ratio."""
    parser.add_argument("weave", metavar="WEAVE", help="a weave's name, or the path of a rule file")
    parser.add_argument("--wire", required=True, metavar="SIZE", help="wire diameter, e.g. 0.9mm")
    parser.add_argument("--inner", metavar="SIZE", help="inner diameter of the rings, e.g. 3.2mm")
    parser.add_argument(
        "--outer", metavar="SIZE", help="in place of --inner: outer diameter, e.g. 5mm"
    )
    parser.add_argument(
        "--ratio",
        metavar="NUMBER",
        help="in place of --inner: aspect ratio, inner diameter / wire diameter, e.g. 3.6",
    )
    add_second(parser)
    parser.add_argument(
        "--meshes",
        action="store_true",
        help="also confirm the result with triangle meshes (needs python-fcl)",
    )


def add_second(parser: argparse.ArgumentParser) -> None:
    """Give a command ``--second``, which :func:`asked_rule` reads."""
    from ringwright.base.sizes import SECOND_FORM, SECOND_HELP

    parser.add_argument(
        "--second", action="append", default=[], metavar=SECOND_FORM, help=SECOND_HELP
    )


def add_out(parser: argparse.ArgumentParser) -> None:
    """Give a command ``--out``, which :func:`target` reads."""
    parser.add_argument(
        "--out",
        required=True,
        metavar="FOLDER/NAME",
        help="output path, without extension",
    )


def show(options: argparse.Namespace, facts: Mapping[str, object], text: Callable[[], str]) -> None:
    """Print the facts as JSON where that was asked for, and else the text."""
    if options.json:
        print(json.dumps(facts, ensure_ascii=False, allow_nan=False))
    else:
        print(text())


def show_unwoven(
    options: argparse.Namespace, report: Report, shelf: ShelfFigures | None = None
) -> int:
    """Say that a size does not close and no files are written; returns the exit status.

    Parameters
    ----------
    shelf : what a shop file adds
    """
    from ringwright.answers.check_figures import CheckFigures
    from ringwright.answers.report import report_text
    from ringwright.base.figures import joined

    told = () if shelf is None else shelf.said
    why = getattr(options, "why", False)
    pointer = "" if why else f" {MORE}"
    show(
        options,
        joined(CheckFigures.of(report), *([] if shelf is None else [shelf])),
        lambda: f"{report_text(report, told, why)}\n\nNothing was written.{pointer}",
    )
    return NOT_WOVEN


def asked_rule(options: argparse.Namespace) -> WeaveRule:
    """The weave that was typed, with the maker's own second rings."""
    from ringwright.api.asked import asked_rule as asked

    return asked(options.weave, options.second)


def asked_size(options: argparse.Namespace) -> tuple[WeaveRule, RingSize]:
    """The weave and the ring size that were typed."""
    from ringwright.api.asked import asked_size as asked

    rule = asked_rule(options)
    return rule, asked(options.wire, options.inner, options.ratio, options.outer)


class SizeOptions(TypedDict):
    """The weave and its rings, as they were typed."""

    weave: str
    wire: str
    inner: str | None
    outer: str | None
    ratio: str | None
    second: list[str]


def size_options(options: argparse.Namespace) -> SizeOptions:
    """The options of :func:`add_size`, as the Python API takes them."""
    return {
        "weave": options.weave,
        "wire": options.wire,
        "inner": options.inner,
        "outer": options.outer,
        "ratio": options.ratio,
        "second": options.second,
    }


def checked(
    rule: WeaveRule,
    size: RingSize,
    step: Progress,
    meshes: bool = False,
    on_settled: Callable[[Unit], None] | None = None,
) -> Report:
    """A size checked, with the search for the tightest ring on the progress bar."""
    from ringwright.api.check import settled

    return settled(rule, size, step, meshes, on_settled)


def checked_workers(workers: int | None) -> int | None:
    """What ``--workers`` says; the program's own 0, for no process at all, is not for makers."""
    if workers is not None and not 1 <= workers <= MOST_WORKERS:
        raise BadInput(f"--workers {workers} is outside 1 to {MOST_WORKERS}; give one per core.")
    return workers


def target(out: str) -> tuple[Path, str]:
    """Folder and name that ``--out`` asks for."""
    from ringwright.api.asked import asked_out

    return asked_out(out)


@contextmanager
def progress() -> Iterator[Progress]:
    """A progress bar on a terminal's stderr, lines where those are asked for, else nothing."""
    if os.environ.get(STEPS_ASKED):
        yield _print_step
        return
    if not sys.stderr.isatty():
        yield lambda name, done, of: None
        return
    from rich.console import Console
    from rich.progress import Progress, TaskID

    bar = Progress(console=Console(stderr=True), transient=True)
    tasks: dict[str, TaskID] = {}

    def step(name: str, done: int, of: int) -> None:
        # Started late: workers are forked before the bar's own thread exists.
        bar.start()
        if name not in tasks:
            tasks[name] = bar.add_task(name, total=of)
        bar.update(tasks[name], completed=done, total=of)

    try:
        yield step
    finally:
        bar.stop()


def _print_step(name: str, done: int, of: int) -> None:
    print(f"{STEP}{name}\t{done}\t{of}", file=sys.stderr, flush=True)
