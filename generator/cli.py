"""The ``ringwright`` command: chooses what to run and turns every failure into one sentence."""

from __future__ import annotations

import argparse
import json
import os
import signal
import sys
import threading
from collections.abc import Callable, Sequence
from typing import NoReturn

from ringwright.base.arguments import Parser
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.exit_status import BAD_INPUT, INTERRUPTED, NOT_WOVEN, WOVEN
from ringwright.base.system import is_closed_pipe, print_any_letter
from ringwright.base.version import program_version
from ringwright.commands import (
    assembly,
    check,
    drawing,
    gallery,
    guide,
    jig,
    jigs,
    json_schema,
    launcher,
    limits,
    match,
    new_weave,
    place,
    plan,
    preview,
    regauge,
    ring,
    serve,
    shop_file,
    size,
    stills,
    sweep,
    weaves,
)

# In the order of the work, which is also that of --help.
_COMMANDS = (
    weaves,
    check,
    limits,
    preview,
    stills,
    drawing,
    assembly,
    sweep,
    match,
    plan,
    size,
    regauge,
    ring,
    shop_file,
    jigs,
    jig,
    new_weave,
    place,
    gallery,
    json_schema,
    serve,
    launcher,
    guide,
)


def _parser() -> argparse.ArgumentParser:
    parser = Parser(
        prog="ringwright",
        description="Says whether a chainmail weave closes in your wire and ring size and how it "
        "measures; makes 3D models, drawings, plans and jigs for it.",
        epilog="Without a command, the page opens in the browser, as with 'serve'. 'ringwright "
        "COMMAND --help' explains one command, and 'ringwright guide' is the manual. Exit "
        "status: 0 the weave can be woven, 1 it cannot, 2 something typed could not be used.",
    )
    parser.add_argument(
        "--version", action=_Version, nargs=0, help="show program's version number and exit"
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for command in _COMMANDS:
        command.add(commands)
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
        2 the input could not be used, 130 stopped with Ctrl-C.
    """
    # A maker who types no more than the name wants the page.
    given = list(sys.argv[1:] if arguments is None else arguments) or ["serve"]
    interrupted = _noticed_interrupts()
    for stream in (sys.stdout, sys.stderr):
        print_any_letter(stream)
    # The matrices are small; more threads only get in the way of the worker processes.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        _refuse_hyphens(given)
        options = _parser().parse_args(given)
        status = int(options.run(options))
        sys.stdout.flush()
        return status
    except BadInput as error:
        return _refused(error.typed, "--json" in given)
    except NoRest as error:
        return _refused(error.typed, "--json" in given, NOT_WOVEN)
    except KeyboardInterrupt as stop:
        said = str(stop) or "Stopped; nothing was written."
        return _refused(said, "--json" in given, INTERRUPTED)
    except OSError as error:
        if interrupted():
            return _refused("Stopped; nothing was written.", "--json" in given, INTERRUPTED)
        # What files need is caught where they are written, so this is the printing itself.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if is_closed_pipe(error):
            # The reader, such as head, has seen enough.
            return WOVEN
        return _refused(
            f"The answer could not be printed ({error.strerror}); see whether the "
            "disk is full, or print to the screen.",
            False,
        )
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
        print(json.dumps({"error": sentence}, ensure_ascii=False))
    return status


if __name__ == "__main__":
    sys.exit(main())
