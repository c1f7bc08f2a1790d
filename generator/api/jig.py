"""``rw.jig``: a printable jig, checked and written."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ringwright.api.asked import asked_out, length_text
from ringwright.base.arguments import Parser
from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress, quiet
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

        Raises
        ------
        BadInput
            When it cannot be printed or put together, or the files cannot be written.
        """
        return write_jig(self.jig, self.printer, *asked_out(out), on_progress)

    def text(self, written: WrittenJig) -> str:
        """What ``ringwright jig`` prints of the written jig."""
        return jig_text(written, self.jig)

    def __repr__(self) -> str:
        count = len(self.jig.parts)
        return f"<MadeJig {self.jig.name}: {count} printed part{'s' * (count != 1)}>"


def jig(name: str, weave: str | None = None, **options: Any) -> MadeJig:
    """Build a jig for your sizes and printer.

    Parameters
    ----------
    name : such as ``"ring-gauge"``; ``ringwright jigs`` lists them
    weave : a weave's name or the path of a rule file, for jigs that are made for one
    options : those of ``ringwright jig NAME --help``, with ``_`` for ``-``; lengths are texts or
        pint quantities, ``True`` is an option without a value

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
    parser = Parser(prog=f"ringwright jig {name}", add_help=False)
    jig_module(name).add_options(parser)
    add_printer(parser)
    parser.set_defaults(workers=0)
    typed = [] if weave is None else [weave]
    for key, value in options.items():
        typed += _typed(f"--{key.replace('_', '-')}", value)
    return made_from(name, parser.parse_args(typed))


def _typed(option: str, value: Any) -> list[str]:
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
