"""The ``ringwright`` command: chooses what to run and turns every failure into one sentence."""

from __future__ import annotations

import argparse
import contextlib
import importlib
import json
import os
import signal
import sys
import threading
from collections.abc import Callable, Sequence
from typing import NoReturn

from ringwright.base.arguments import Parser
from ringwright.base.errors import BadInput, NoRest, NotWritten
from ringwright.base.exit_status import BAD_INPUT, INTERRUPTED, NOT_WOVEN, NOT_WRITTEN, WOVEN
from ringwright.base.system import is_closed_pipe, print_any_letter
from ringwright.base.version import program_version

# In the order of the work, which is also that of --help.
_COMMANDS = (
    "weaves",
    "check",
    "limits",
    "preview",
    "stills",
    "drawing",
    "assembly",
    "sweep",
    "match",
    "plan",
    "size",
    "regauge",
    "ring",
    "shop-file",
    "jigs",
    "jig",
    "new-weave",
    "place",
    "gallery",
    "json-schema",
    "serve",
    "launcher",
    "guide",
)


def _parser(given: Sequence[str] = ()) -> argparse.ArgumentParser:
    """What reads the command line; where that begins with a command, no other one is loaded."""
    parser = Parser(
        prog="ringwright",
        description="Says whether a chainmail weave closes in your wire and ring size and how it "
        "measures; makes 3D models, drawings, plans and jigs for it.",
        epilog="Without a command, the page opens in the browser, as with 'serve'. 'ringwright "
        "COMMAND --help' explains one command, and 'ringwright guide' is the manual. Exit "
        "status: 0 the weave can be woven, 1 it cannot, 2 something typed could not be used, "
        "3 an answer or a file could not be written.",
    )
    parser.add_argument(
        "--version", action=_Version, nargs=0, help="show program's version number and exit"
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    alone = [name for name in given[:1] if name in _COMMANDS]
    for name in alone or _COMMANDS:
        module = importlib.import_module(f"ringwright.commands.{name.replace('-', '_')}")
        module.add(commands)
    return parser


class _Version(argparse.Action):
    """``--version``, which is looked up only where it is asked for: that takes a while."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> NoReturn:
        print(f"ringwright {program_version()}")
        parser.exit()


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns
    -------
    int
        Exit status: 0 the weave can be woven (or the list was printed), 1 it cannot,
        2 the input could not be used, 3 the answer or a file could not be written,
        130 stopped with Ctrl-C.
    """
    # A maker who types no more than the name wants the page.
    given = list(sys.argv[1:] if arguments is None else arguments) or ["serve"]
    interrupted = _noticed_interrupts()
    if not _streams_open():
        return _not_printed("output is closed; send it to a file instead")
    # The matrices are small; more threads only get in the way of the worker processes.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        return _answered(given, interrupted)
    except OSError as error:
        # What files need is caught where they are written, so this is the printing itself.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if is_closed_pipe(error):
            # The reader, such as head, has seen enough.
            return WOVEN
        return _not_printed(
            f"{error.strerror}; see whether the disk is full, or print to the screen"
        )


def _answered(given: Sequence[str], interrupted: Callable[[], bool]) -> int:
    """Run one command and print what becomes of it; only an error of printing gets out."""
    as_json = "--json" in given
    try:
        _refuse_hyphens(given)
        options = _parser(given).parse_args(given)
        status = int(options.run(options))
        sys.stdout.flush()
        return status
    except SystemExit:
        # Help and version end so, printed but not yet where they go to.
        sys.stdout.flush()
        raise
    except NotWritten as error:
        return _refused(error.typed, as_json, NOT_WRITTEN)
    except BadInput as error:
        return _refused(error.typed, as_json)
    except NoRest as error:
        return _refused(error.typed, as_json, NOT_WOVEN)
    except KeyboardInterrupt as stop:
        return _refused(str(stop) or "Stopped; nothing was written.", as_json, INTERRUPTED)
    except MemoryError:
        return _refused(
            "There is not enough memory for a piece of this size; ask for a shorter length or a "
            "larger --chord-error.",
            as_json,
        )
    except Exception:
        # A library that is interrupted while it loads may report that as an error of its own.
        if interrupted():
            return _refused("Stopped; nothing was written.", as_json, INTERRUPTED)
        raise


def _streams_open() -> bool:
    """Whether there is anywhere to print to; what is written to either stream is taken."""
    if sys.stderr is None:
        # It stays open as long as the program runs.
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    if sys.stdout is None:
        return False
    for stream in (sys.stdout, sys.stderr):
        print_any_letter(stream)
    return True


def _refuse_hyphens(given: Sequence[str]) -> None:
    """Refuse ``--wire=--``, of which argparse would make an empty list."""
    for each in given:
        option, _, value = each.partition("=")
        if option.startswith("--") and value == "--":
            raise BadInput(f"argument {option}: '--' is no value; give one, or leave it out.")


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
        print(json.dumps({"error": sentence}, ensure_ascii=False), flush=True)
    return status


def _not_printed(why: str) -> int:
    # Where the complaint cannot be printed either, the status is all there is.
    with contextlib.suppress(OSError):
        print(f"ringwright: The answer could not be printed: {why}.", file=sys.stderr)
    return NOT_WRITTEN


if __name__ == "__main__":
    sys.exit(main())
