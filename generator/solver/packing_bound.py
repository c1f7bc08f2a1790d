"""A proved lower bound on the aspect ratio of a weave: the wires that pass through one eye.

Every ring that runs through ring R crosses the flat disc that R's core circle bounds, and the
core circle of that ring therefore meets the disc in a point. These points are at least two wire
radii apart (else two wires overlap) and at least two wire radii from R's core circle. So discs
of the wire's radius about them lie side by side in the eye, a disc of R's inner radius, however
slanted the wires pass. How small a disc holds n equal discs is known and proved for n up to 13:
R. L. Graham, "Sets of points with given minimum separation", American Mathematical Monthly 75
(1968), for 2 to 7; U. Pirl, Mathematische Nachrichten 40 (1969), to 10; H. Melissen, Geometriae
Dedicata 50 (1994), 11; F. Fodor, Geometriae Dedicata 74 (1999) and Beiträge zur Algebra und
Geometrie 41 (2000) and 44 (2003), 19, 12 and 13 (references and figures from memory).
"""

from __future__ import annotations

import math

from ringwright.weaves.rule import WeaveRule

# Smallest radius of a disc that holds n discs of radius 1.
_HOLDS = (
    0.0,
    1.0,
    2.0,
    1.0 + 2.0 / math.sqrt(3.0),
    1.0 + math.sqrt(2.0),
    1.0 + math.sqrt(2.0 * (1.0 + 1.0 / math.sqrt(5.0))),
    3.0,
    3.0,
    1.0 + 1.0 / math.sin(math.pi / 7.0),
    1.0 + math.sqrt(2.0 * (2.0 + math.sqrt(2.0))),
    3.8130256,
    1.0 + 1.0 / math.sin(math.pi / 9.0),
    4.0296019,
    2.0 + math.sqrt(5.0),
)


def packing_bound(rule: WeaveRule) -> float | None:
    """No main ring of a smaller aspect ratio closes the weave, in whatever lay or shape.

    For a ring of ``core`` times the main core radius R and ``wire`` times the main wire radius
    r, with n rings through it of at least ``least`` times that wire,

        core R - wire r >= K_n least r,  so that  R / r - 1 >= (K_n least + wire) / core - 1.

    Returns
    -------
    The bound; None where rings are fixed in millimetres, for which it depends on the size.
    """
    if rule.has_fixed_rings:
        return None
    sizes = {ring.name: ring.size for ring in rule.rings}
    core = {name: 1.0 if size is None else size.core for name, size in sizes.items()}
    wire = {name: 1.0 if size is None else size.wire for name, size in sizes.items()}
    through: dict[str, list[float]] = {name: [] for name in sizes}
    for link in rule.links:
        through[link.first.name].append(wire[link.second.name])
        through[link.second.name].append(wire[link.first.name])
    bounds = [
        (_HOLDS[min(len(wires), len(_HOLDS) - 1)] * min(wires) + wire[name]) / core[name] - 1.0
        for name, wires in through.items()
        if wires
    ]
    return max([*bounds, 0.0])
