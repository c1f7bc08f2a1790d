"""Chainmail weaves settled for your wire and rings, as a library: ``import ringwright as rw``.

Whether a size closes a weave, how it measures, how far it goes, what a piece takes, and its
files. The commands call the same functions. Nothing is loaded before it is used.

Examples
--------
>>> import ringwright as rw
>>> rw.check("one-in-one", wire="1mm", inner="4mm")
<Check one-in-one, wire 1 mm, inner 4 mm, aspect ratio 4.000: in the working range;
 repeat 8.000 mm, width 4.536 mm, thickness 4.536 mm>
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

# What the library offers, and where that is.
_HOMES = {
    "BadInput": "ringwright.base.errors",
    "NoRest": "ringwright.base.errors",
    "NotWritten": "ringwright.base.errors",
    "RingSize": "ringwright.base.sizes",
    "Weave": "ringwright.weaves.listed",
    "check": "ringwright.api.check",
    "jig": "ringwright.api.jig",
    "limits": "ringwright.api.limits",
    "load_rule": "ringwright.weaves.listed",
    "match": "ringwright.api.match",
    "place": "ringwright.api.place",
    "plan": "ringwright.api.plan",
    "sweep": "ringwright.api.sweep",
    "weaves": "ringwright.weaves",
}
# This is a package as well as a function: calling the package is calling the function.
_PACKAGE = "weaves"

__all__ = [
    "BadInput",
    "NoRest",
    "NotWritten",
    "RingSize",
    "Weave",
    "check",
    "jig",
    "limits",
    "load_rule",
    "match",
    "place",
    "plan",
    "sweep",
    "weaves",
]

if TYPE_CHECKING:
    from ringwright.api.check import check
    from ringwright.api.jig import jig
    from ringwright.api.limits import limits
    from ringwright.api.match import match
    from ringwright.api.place import place
    from ringwright.api.plan import plan
    from ringwright.api.sweep import sweep
    from ringwright.base.errors import BadInput, NoRest, NotWritten
    from ringwright.base.sizes import RingSize
    from ringwright.weaves.listed import Weave, load_rule, weaves
else:

    def __getattr__(name: str) -> object:
        """What is asked for the first time is loaded now (PEP 562)."""
        if name not in _HOMES:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        home = importlib.import_module(_HOMES[name])
        return home if name == _PACKAGE else getattr(home, name)


def __dir__() -> list[str]:
    return [*__all__]
