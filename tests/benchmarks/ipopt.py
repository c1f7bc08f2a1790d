"""The settling problem posed to IPOPT (through CasADi), to compare states and times.

The rings' centres, normals and in-plane directions are unknowns; every one of so
many points of each ring must keep its distance from the core circles of the rings
near it. IPOPT knows nothing of local minima, links or lay; it starts from the same
placement and, from near enough, finds the same rest.
"""

import casadi
import numpy as np

from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import close_pairs
from ringwright.solver.climb import Unit


def longest_repeat(unit: Unit, points: int = 48) -> float:
    """The longest repeat of a chain by IPOPT, from ``unit``, which must not overlap."""
    rings = unit.rings
    count = len(rings.centres)
    pairs = close_pairs(rings, 0.6, unit.lattice)
    ask = casadi.Opti()
    centre, normal, across = (ask.variable(3, count) for _ in range(3))
    repeat = ask.variable()
    ask.minimize(-repeat)
    basis, _ = plane_basis(rings.axes)
    ask.set_initial(centre, rings.centres.T)
    ask.set_initial(normal, rings.axes.T)
    ask.set_initial(across, basis.T)
    ask.set_initial(repeat, unit.repeat)
    for ring in range(count):
        ask.subject_to(casadi.sumsqr(normal[:, ring]) == 1)
        ask.subject_to(casadi.sumsqr(across[:, ring]) == 1)
        ask.subject_to(casadi.dot(normal[:, ring], across[:, ring]) == 0)
    # Where the chain lies is free; this pins it down.
    ask.subject_to(centre[:, 0] == rings.centres[0])
    angles = np.linspace(0.0, 2 * np.pi, points, endpoint=False)
    for i, j, image in zip(pairs.first, pairs.second, pairs.image[:, 0], strict=True):
        i, j = int(i), int(j)
        shift = casadi.vertcat(image * repeat, 0, 0)
        side = casadi.cross(normal[:, i], across[:, i])
        least = float(rings.wire_radii[i] + rings.wire_radii[j])
        for angle in angles:
            spoke = np.cos(angle) * across[:, i] + np.sin(angle) * side
            offset = centre[:, i] + float(rings.core_radii[i]) * spoke - centre[:, j] - shift
            height = casadi.dot(offset, normal[:, j])
            off_axis = casadi.sqrt(casadi.fmax(casadi.sumsqr(offset) - height**2, 1e-12))
            gap = (off_axis - float(rings.core_radii[j])) ** 2 + height**2
            ask.subject_to(gap >= least**2)
    ask.solver("ipopt", {"print_time": False}, {"print_level": 0, "sb": "yes", "tol": 1e-9})
    return float(ask.solve().value(repeat))
