"""Printable jigs, one module each, and what they share.

A jig's module has ``NAME``, ``SUMMARY``, ``add_options(parser)`` and
``from_options(options, printer)``, which returns a :class:`jigs.jig.Jig`; it is listed here.
"""

from __future__ import annotations

from types import ModuleType

from jigs import (
    cutting_cradle,
    giant_sample,
    ring_gauge,
    sorting_tray,
    weaving_stand,
    winding_guide,
)

JIGS: dict[str, ModuleType] = {
    module.NAME: module
    for module in (
        ring_gauge,
        winding_guide,
        cutting_cradle,
        sorting_tray,
        weaving_stand,
        giant_sample,
    )
}
