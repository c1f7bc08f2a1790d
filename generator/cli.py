"""The ``ringwright`` command: reads what the maker typed, prints answers, writes files."""

from __future__ import annotations

import argparse
import json
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from generator import program_version
from generator.errors import BadInput, NoRest

if TYPE_CHECKING:
    from generator.sizes import RingSize
    from generator.sweep import Sweep
    from generator.verdict import Report
    from weaves.rule import WeaveRule

WOVEN, NOT_WOVEN, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130
MOST_REPEATS = 1000

_SIZES = (
    "Sizes carry their unit: 1.2mm, 0.048in, 3/64in, 18awg or 18swg. Gauges differ between "
    "the American (AWG) and British (SWG) tables, so a bare number or 'ga' is refused."
)


class _Parser(argparse.ArgumentParser):
    """A parser that reports a mistake as one sentence instead of printing its usage."""

    def error(self, message: str) -> NoReturn:
        # A misspelt command gets the near names argparse lists itself.
        raise BadInput(f"{message}; see '{self.prog} --help'.")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="ringwright",
        description="Settles a chainmail weave for your wire and ring size: whether it closes, "
        "how it measures, and 3D models of the piece.",
        epilog="Exit status: 0 it can be woven, 1 it cannot, 2 the input could not be used.",
    )
    parser.add_argument("--version", action="version", version=f"ringwright {program_version()}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)

    weaves = commands.add_parser("weaves", help="list the weave rules", description="List rules.")
    _add_json(weaves)
    weaves.set_defaults(run=_weaves)

    check = commands.add_parser(
        "check",
        help="say whether a wire and ring size closes a weave",
        description="Settle one repeat and say whether it closes, how much room is left and how "
        "long, wide and thick it is.",
        epilog=_SIZES,
    )
    _add_size(check)
    _add_json(check)
    check.set_defaults(run=_check)

    limits = commands.add_parser(
        "limits",
        help="say how far a weave goes: play, eyes, bends, assembly, load",
        description="Settle a weave and ask how far it goes: pulled and pushed, the room left in "
        "every eye, the tightest bend, whether it can be put together, where the pull goes.",
        epilog=_SIZES,
    )
    _add_size(limits)
    limits.add_argument(
        "--repeats", type=int, metavar="N", help="also close a chain of N repeats into a bracelet"
    )
    _add_json(limits)
    limits.set_defaults(run=_limits)

    preview = commands.add_parser(
        "preview",
        help="lay out a whole piece and write STL, STEP, GLB, PNG and JSON",
        description="Settle the weave, lay out the whole piece with its end rings, check every "
        "pair of rings again, and write NAME.stl, .step, .glb, .png and .json.",
        epilog=_SIZES,
    )
    _add_size(preview)
    preview.add_argument(
        "--length", required=True, metavar="LENGTH", help="least length of the piece, as 170mm"
    )
    preview.add_argument(
        "--width", metavar="LENGTH", help="least width of a sheet (one row when left out)"
    )
    preview.add_argument(
        "--out", required=True, metavar="FOLDER/NAME", help="where the files go, less their ending"
    )
    preview.add_argument(
        "--chord-error",
        default="0.02mm",
        metavar="LENGTH",
        help="farthest the triangles may lie from the true ring (default 0.02mm)",
    )
    _add_json(preview)
    preview.set_defaults(run=_preview)

    _add_sweep(commands)
    return parser


def _add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--json", action="store_true", help="print one JSON object and nothing else"
    )


def _add_size(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("weave", metavar="WEAVE", help="a weave's name, or the path of a rule file")
    parser.add_argument("--wire", required=True, metavar="SIZE", help="wire diameter, as 0.9mm")
    parser.add_argument("--inner", metavar="SIZE", help="the ring's inner diameter, as 3.2mm")
    parser.add_argument(
        "--ratio", metavar="NUMBER", help="aspect ratio, inner / wire, in place of --inner"
    )


def _add_sweep(commands: argparse._SubParsersAction[_Parser]) -> None:
    sweep = commands.add_parser(
        "sweep",
        help="try one weave at many sizes and write a table and a plot",
        description="Settle one weave over a range of aspect ratios (--ratio-from, --ratio-to), or "
        "for every wire with every inner diameter (--wires, --inners), and write NAME.csv, .json, "
        ".svg and .png. A sweep that was stopped goes on when the same command is run again.",
        epilog=_SIZES + " Exit status: 0 the sweep was done, 2 the input could not be used.",
    )
    sweep.add_argument("weave", metavar="WEAVE", help="a weave's name, or the path of a rule file")
    sweep.add_argument("--ratio-from", metavar="NUMBER", help="smallest aspect ratio")
    sweep.add_argument("--ratio-to", metavar="NUMBER", help="largest aspect ratio")
    sweep.add_argument("--steps", type=int, metavar="N", help="how many ratios (default 25)")
    sweep.add_argument("--wire", metavar="SIZE", help="wire over the range (default 1mm)")
    sweep.add_argument("--wires", metavar="SIZES", help="a grid's wires, as 0.8mm,0.9mm,18swg")
    sweep.add_argument("--inners", metavar="SIZES", help="a grid's inner diameters, as 3mm,1/8in")
    sweep.add_argument(
        "--out", required=True, metavar="FOLDER/NAME", help="where the files go, less their ending"
    )
    sweep.add_argument("--workers", type=int, metavar="N", help="processes (default: every core)")
    sweep.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="use a Dask cluster instead, as tcp://192.168.1.5:8786",
    )
    sweep.add_argument(
        "--fresh", action="store_true", help="throw away what a stopped sweep of this name kept"
    )
    _add_json(sweep)
    sweep.set_defaults(run=_sweep)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns
    -------
    int
        Exit status: 0 the weave can be woven (or the list was printed), 1 it cannot,
        2 the input could not be used, 130 stopped with Ctrl-C.
    """
    given = list(sys.argv[1:] if arguments is None else arguments)
    interrupted = _noticed_interrupts()
    # The matrices are small; more threads only get in the way of the worker processes.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        options = _parser().parse_args(given)
        status = int(options.run(options))
        sys.stdout.flush()
        return status
    except BadInput as error:
        return _refused(str(error), "--json" in given)
    except NoRest as error:
        return _refused(str(error), "--json" in given, NOT_WOVEN)
    except KeyboardInterrupt as stop:
        said = str(stop) or "Stopped; nothing was written."
        return _refused(said, "--json" in given, INTERRUPTED)
    except BrokenPipeError:
        # The reader, such as head, has seen enough.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return WOVEN
    except OSError as error:
        if interrupted():
            return _refused("Stopped; nothing was written.", "--json" in given, INTERRUPTED)
        # What files need is caught where they are written, so this is the printing itself.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return _refused(f"The answer could not be printed: {error.strerror}.", False)
    except MemoryError:
        return _refused(
            "There is not enough memory for a piece of this size; ask for a shorter length or a "
            "larger --chord-error.",
            "--json" in given,
        )
    except Exception:
        # A library that is interrupted while it loads may report that as an error of its own.
        if interrupted():
            return _refused("Stopped; nothing was written.", "--json" in given, INTERRUPTED)
        raise


def _noticed_interrupts() -> Callable[[], bool]:
    """Have Ctrl-C raise KeyboardInterrupt and be remembered; tells whether it was pressed."""
    pressed = []

    def handle(number: int, frame: object) -> None:
        pressed.append(number)
        raise KeyboardInterrupt

    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, handle)
    return lambda: bool(pressed)


def _refused(sentence: str, as_json: bool, status: int = BAD_INPUT) -> int:
    print(f"ringwright: {sentence}", file=sys.stderr)
    if as_json:
        print(json.dumps({"error": sentence}, ensure_ascii=False))
    return status


def _print(options: argparse.Namespace, facts: dict[str, Any], text: Callable[[], str]) -> None:
    if options.json:
        print(json.dumps(facts, ensure_ascii=False, allow_nan=False))
    else:
        print(text())


def _weaves(options: argparse.Namespace) -> int:
    from generator.report import rule_facts, rules_text
    from weaves import list_rules

    rules = list_rules()
    _print(options, {"weaves": [rule_facts(rule) for rule in rules]}, lambda: rules_text(rules))
    return WOVEN


def _asked(options: argparse.Namespace) -> tuple[WeaveRule, RingSize]:
    from generator.sizes import RingSize
    from weaves import load_rule

    return load_rule(options.weave), RingSize.from_text(options.wire, options.inner, options.ratio)


def _reported(rule: WeaveRule, size: RingSize, step: Callable[[str, int, int], None]) -> Report:
    """A size checked, with the search for the tightest ring on the progress bar."""
    from generator.verdict import check

    return check(rule, size, on_progress=lambda done, of: step("tightest ring", done, of))


def _check(options: argparse.Namespace) -> int:
    rule, size = _asked(options)

    from generator.report import report_facts, report_text

    with _progress() as step:
        report = _reported(rule, size, step)
    _print(options, report_facts(report), lambda: report_text(report))
    return WOVEN if report.can_be_woven else NOT_WOVEN


def _limits(options: argparse.Namespace) -> int:
    rule, size = _asked(options)
    if options.repeats is not None and not 3 <= options.repeats <= MOST_REPEATS:
        raise BadInput(
            f"--repeats {options.repeats} does not make a bracelet; give 3 to {MOST_REPEATS}."
        )

    from generator.limits import limits
    from generator.report import report_facts, report_text
    from generator.report_limits import limits_facts, limits_text

    with _progress() as step:
        report = _reported(rule, size, step)
        found = limits(report, step, options.repeats) if report.can_be_woven else None
    if found is None:
        _print(options, report_facts(report), lambda: report_text(report))
        return NOT_WOVEN
    _print(options, limits_facts(found), lambda: f"{report_text(report)}\n\n{limits_text(found)}")
    return WOVEN


def _preview(options: argparse.Namespace) -> int:
    from generator.sizes import parse_length

    rule, size = _asked(options)
    length_mm = parse_length(options.length, "length")
    width_mm = None if options.width is None else parse_length(options.width, "width")
    if width_mm is not None and rule.family != "sheet":
        raise BadInput(f"--width is for sheets, and {rule.name} is a {rule.family}; leave it out.")
    chord_error_mm = parse_length(options.chord_error, "chord error")
    folder, name = _target(options.out)

    from generator.preview import preview
    from generator.report import piece_facts, piece_text, report_facts, report_text

    with _progress() as step:
        report = _reported(rule, size, step)
        if not report.can_be_woven:
            facts = report_facts(report)
        else:
            made = preview(report, (length_mm, width_mm), folder, name, chord_error_mm, step)
            facts = piece_facts(report, made.piece, made.repeats, made.checked, made.files)
    if not report.can_be_woven:
        _print(options, facts, lambda: report_text(report) + "\n\nNothing was written.")
        return NOT_WOVEN
    if made.no_picture:
        print(f"ringwright: {made.no_picture}", file=sys.stderr)
    _print(
        options,
        facts,
        lambda: "\n\n".join(
            [
                report_text(report),
                piece_text(report, made.piece, made.repeats, made.checked),
                "Written\n" + "\n".join(f"  {path}" for path in made.files.values() if path),
            ]
        ),
    )
    return WOVEN


def _sweep(options: argparse.Namespace) -> int:
    folder, name = _target(options.out)

    from generator.sweep_report import sweep_facts, sweep_text
    from generator.sweep_run import run_sweep

    sweep = _asked_sweep(options)
    with _progress() as step:
        rows, files = run_sweep(
            sweep,
            folder,
            name,
            on_progress=step,
            on_note=lambda note: print(f"ringwright: {note}", file=sys.stderr),
            workers=options.workers,
            scheduler=options.scheduler,
            fresh=options.fresh,
        )
    _print(options, sweep_facts(sweep, rows, files), lambda: sweep_text(sweep, rows, files))
    return WOVEN


def _asked_sweep(options: argparse.Namespace) -> Sweep:
    """The range or the grid, whichever was asked for."""
    from generator.sweep import STEPS, over_grid, over_ratios
    from weaves import load_rule

    span, grid = (options.ratio_from, options.ratio_to), (options.wires, options.inners)
    only_for_a_range = (*span, options.steps, options.wire)
    if None not in grid and all(option is None for option in only_for_a_range):
        return over_grid(load_rule(options.weave), *grid)
    if None in span or any(option is not None for option in grid):
        raise BadInput(
            "A sweep takes either --ratio-from and --ratio-to (with --steps and --wire, if you "
            "like) or --wires and --inners; give one of these pairs."
        )
    steps = STEPS if options.steps is None else options.steps
    wire = "1mm" if options.wire is None else options.wire
    return over_ratios(load_rule(options.weave), wire, *span, steps)


def _target(out: str) -> tuple[Path, str]:
    """Folder and name that ``--out`` asks for."""
    path = Path(out)
    if not out.strip() or "\0" in out or out.endswith(("/", os.sep)) or path.name in ("", ".."):
        raise BadInput(
            f"--out {out!r} has no file name; give a folder and a name without ending, "
            "such as out/bracelet."
        )
    if path.is_dir():
        raise BadInput(
            f"--out {out!r} is a folder; add a name for the files, such as {path / 'bracelet'}."
        )
    return path.parent, path.name


@contextmanager
def _progress() -> Iterator[Callable[[str, int, int], None]]:
    """A progress bar on a terminal's stderr; elsewhere nothing."""
    if not sys.stderr.isatty():
        yield lambda name, done, of: None
        return
    from rich.console import Console
    from rich.progress import Progress

    bar = Progress(console=Console(stderr=True), transient=True)
    tasks: dict[str, Any] = {}

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


if __name__ == "__main__":
    sys.exit(main())
