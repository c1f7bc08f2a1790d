"""``rw.jig``: a printable jig, checked and written."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, Unpack, overload

from ringwright.api.asked import asked_out, length_text, spelt_out
from ringwright.api.jig_options import (
    CuttingCradle,
    GiantSample,
    RingGauge,
    SortingTray,
    WeavingStand,
    WindingGuide,
)
from ringwright.base.arguments import Parser
from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress, quiet
from ringwright.base.wording import counted
from ringwright.jigs import JIGS, jig_module
from ringwright.jigs.files.write_jig import WrittenJig, jig_text, write_jig
from ringwright.jigs.parts.jig import Jig
from ringwright.jigs.parts.printing import Printer, add_printer, printer_from


@dataclass(frozen=True, eq=False, repr=False)
class MadeJig:
    """A jig for your sizes and printer.

    Attributes
    ----------
    jig : its parts, and how they go together
    printer : what it is printed on
    """

    jig: Jig
    printer: Printer

    def save_all(self, out: str | Path, on_progress: Progress = quiet) -> WrittenJig:
        """Measure whether it can be printed, and write all of its files, or none.

        Parameters
        ----------
        out : ``folder/name``, without an ending
        on_progress : called with (what, done, of)

        Returns
        -------
        WrittenJig
            The paths by kind, and all that was measured; lengths in millimetres.

        Raises
        ------
        BadInput
            When it cannot be printed or put together, or the files cannot be written.
        """
        return write_jig(self.jig, self.printer, *asked_out(out), on_progress)

    def text(self, written: WrittenJig) -> str:
        """What ``ringwright jig`` prints.

        Parameters
        ----------
        written : what ``save_all`` gave
        """
        return jig_text(written, self.jig)

    def __repr__(self) -> str:
        count = len(self.jig.parts)
        return f"<MadeJig {self.jig.name}: {counted(count, 'printed part')}>"


@overload
def jig(name: Literal["ring-gauge"], **options: Unpack[RingGauge]) -> MadeJig: ...
@overload
def jig(name: Literal["winding-guide"], **options: Unpack[WindingGuide]) -> MadeJig: ...
@overload
def jig(name: Literal["cutting-cradle"], **options: Unpack[CuttingCradle]) -> MadeJig: ...
@overload
def jig(
    name: Literal["sorting-tray"], weave: str | Path, **options: Unpack[SortingTray]
) -> MadeJig: ...
@overload
def jig(
    name: Literal["weaving-stand"], weave: str | Path, **options: Unpack[WeavingStand]
) -> MadeJig: ...
@overload
def jig(
    name: Literal["giant-sample"], weave: str | Path, **options: Unpack[GiantSample]
) -> MadeJig: ...
def jig(name: str, weave: str | Path | None = None, **options: Any) -> MadeJig:
    """Build a jig for your sizes and printer.

    Parameters
    ----------
    name : such as ``"ring-gauge"``; ``ringwright jigs`` lists them
    weave : a weave's name or the path of a rule file, for jigs that are made for one
    options : those of ``ringwright jig NAME --help``, with ``_`` for ``-``; their types are in
        ``ringwright.api.jig_options``, and editors offer them. Lengths are texts or pint
        quantities, ``True`` is an option without a value, a list is an option given several times

    Returns
    -------
    MadeJig
        The jig, not yet measured: ``save_all`` does that before it writes.

    Raises
    ------
    BadInput
        When there is no such jig, or an option cannot be used.

    Examples
    --------
    >>> import ringwright as rw
    >>> rw.jig("cutting-cradle", wire="1mm", inner="4mm", kerf="0.3mm").jig.name
    'cutting-cradle'
    """
    if name not in JIGS:
        raise BadInput(f"there is no jig {name!r}: expected one of {', '.join(JIGS)}")
    parser = jig_parser(name)
    known = [action.dest for action in parser._actions if action.option_strings]
    typed = [] if weave is None else [str(weave)]
    for key, value in spelt_out(options).items():
        if key not in known:
            raise BadInput(f"{name} has no {key!r}: expected some of {', '.join(known)}")
        typed += _typed(f"--{key.replace('_', '-')}", value)
    return made_from(name, parser.parse_args(typed))


def jig_parser(name: str) -> Parser:
    """Reads a jig's own options and the printer's."""
    parser = Parser(prog=f"ringwright jig {name}", add_help=False, allow_abbrev=False)
    jig_module(name).add_options(parser)
    add_printer(parser)
    parser.set_defaults(workers=0)
    return parser


def _typed(option: str, value: object) -> list[str]:
    """An option as it would be typed."""
    if value is None or value is False:
        return []
    if value is True:
        return [option]
    if isinstance(value, list | tuple):
        return [word for one in value for word in _typed(option, one)]
    return [f"{option}={length_text(value, option)}"]


def made_from(name: str, options: argparse.Namespace) -> MadeJig:
    """A jig from the options of its own parser and the printer's."""
    printer = printer_from(options)
    return MadeJig(jig_module(name).from_options(options, printer), printer)
