"""Printable jigs, one module each, and what they share.

A jig's module has ``add_options(parser)`` and ``from_options(options, printer)``, which returns a
:class:`ringwright.jigs.parts.jig.Jig`, and its ``NAME``; it is listed here, and loaded only when it
is asked for.
"""

from __future__ import annotations

import importlib
from typing import Any

# The names that makers use, and in a few words what each is.
JIGS = {
    "ring-gauge": "stepped plug for inner diameters, slots for wire",
    "winding-guide": "hand-cranked coil winder, or the wire guide alone for a drill",
    "cutting-cradle": "V-block with clamp bars that guide a hand saw along a coil",
    "sorting-tray": "stacking wells for the rings of a piece, with a lid; a dealing board",
    "weaving-stand": "a post with pins for the first rings, to weave at hand height",
    "giant-sample": "a few repeats of the weave, enlarged and printed in place, to learn and "
    "teach it",
}


def jig_module(name: str) -> Any:
    """The module of a jig by its name in the list."""
    return importlib.import_module(f"ringwright.jigs.{name.replace('-', '_')}")
