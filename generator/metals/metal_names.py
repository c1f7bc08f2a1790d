"""Which metal a name means."""

from __future__ import annotations

from collections.abc import Iterable

from ringwright.base.errors import BadInput
from ringwright.base.wording import either, near, perhaps_meant
from ringwright.metals.all_metals import METALS
from ringwright.metals.metal import Metal
from ringwright.metals.name_keys import name_key


def metal_named(name: str, extra: Iterable[Metal] = ()) -> Metal:
    """The metal of a name; capitals, spaces and hyphens do not matter.

    Parameters
    ----------
    name : as it is listed, or one of its other names
    extra : metals of the maker's own, which go before those listed

    Raises
    ------
    BadInput
        When no metal has that name, and the nearest are named; or when several go by it, and all
        of them are.
    """
    own = tuple(extra)
    found = metals_called(name, own)
    if len(found) == 1:
        return found[0]
    if found:
        raise BadInput(f"{name[:40]!r} can be {listed(found)}: say which")
    exact = {**_EXACT, **_exact(own)}
    names = list(dict.fromkeys(exact[key].name for key in near(name_key(name), exact)))
    hint = perhaps_meant(names) or f"expected one of {', '.join(metal.name for metal in METALS)}"
    raise BadInput(f"no metal is called {name[:40]!r}: {hint}")


def metals_called(name: str, extra: Iterable[Metal] = ()) -> tuple[Metal, ...]:
    """The one metal that a name means, all that it can mean, or none."""
    key = name_key(name)
    found = _exact(extra).get(key) or _EXACT.get(key)
    return _LOOSE.get(key, ()) if found is None else (found,)


def listed(metals: Iterable[Metal]) -> str:
    """Metals in a row, to choose one from."""
    return either([metal.name for metal in metals])


def _exact(metals: Iterable[Metal]) -> dict[str, Metal]:
    """Metals by the names that mean one alone."""
    found: dict[str, Metal] = {}
    for metal in metals:
        for name in (metal.name, *metal.also):
            found.setdefault(name_key(name), metal)
    return found


def _loose(metals: Iterable[Metal]) -> dict[str, tuple[Metal, ...]]:
    """Metals by the names that they share."""
    found: dict[str, tuple[Metal, ...]] = {}
    for metal in metals:
        for key in dict.fromkeys(map(name_key, metal.loosely)):
            found[key] = (*found.get(key, ()), metal)
    return found


_EXACT, _LOOSE = _exact(METALS), _loose(METALS)
