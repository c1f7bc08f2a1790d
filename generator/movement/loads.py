"""Where the pull goes: which rings press on each other, those that lie alike together.

Where more contacts press than are needed for balance, their forces are one choice of many;
the mean over contacts that lie alike is a choice too, and the one that looks like the weave.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringwright.movement.symmetry import Symmetry
from ringwright.solver.settle import Settled

# Shares of the pull below this are left out.
LEAST = 1e-3
# Contacts between repeats that bear so much more than the pull together push at a slant.
_SLANT = 0.005
# Forces, as shares of the pull, that differ by less count as the same.
_EVEN = 0.01

Contact = tuple[int, int, tuple[int, int]]


@dataclass(frozen=True)
class Load:
    """What contacts that lie alike bear, each.

    Attributes
    ----------
    contact : one of them: ring, other ring, and the image of the unit that this one is in
    count : how many there are in one repeat
    force : for a pull of 1, the mean of them
    even : whether all of them bear about that
    """

    contact: Contact
    count: int
    force: float
    even: bool


def contacts_loaded(settled: Settled) -> dict[Contact, float]:
    """The force in every contact of a weave at rest, for a pull of 1.

    Half way round a tube a contact is listed by both of its names; its force is their sum.
    """
    held, around = settled.certificate, settled.unit.lattice.around
    forces: dict[Contact, float] = {}
    for i, j, (k1, k2), force in zip(
        held.pairs.first, held.pairs.second, held.pairs.image, held.forces, strict=True
    ):
        contact = _named((int(i), int(j), (int(k1), int(k2))), around)
        forces[contact] = forces.get(contact, 0.0) + float(force)
    return forces


def loads(settled: Settled, symmetries: Sequence[Symmetry]) -> tuple[Load, ...]:
    """The contacts sorted into those that lie alike, the most loaded first.

    Parameters
    ----------
    settled : pulled straight
    symmetries : of the weave: of its unit, or of the rule's placement
    """
    forces, around = contacts_loaded(settled), settled.unit.lattice.around
    found = []
    left = dict.fromkeys(forces)
    while left:
        group = {_named(_carried(next(iter(left)), one), around) for one in symmetries}
        for contact in group:
            left.pop(contact, None)
        borne = [forces.get(contact, 0.0) for contact in group]
        force = sum(borne) / len(borne)
        first = min(group, key=lambda contact: (contact[2] != (0, 0), contact))
        if force > LEAST:
            even = max(borne) - min(borne) < _EVEN
            found.append(Load(first, len(group), force, even))
    return tuple(sorted(found, key=lambda load: (-round(load.force, 6), load.contact)))


def pushes_slant(settled: Settled) -> bool:
    """Whether the contacts between one repeat and the next bear more than the pull in all."""
    across = sum(abs(k1) * force for (_, _, (k1, _)), force in contacts_loaded(settled).items())
    return across > 1.0 + _SLANT


def _carried(contact: Contact, one: Symmetry) -> Contact:
    """The contact that a symmetry makes of a contact."""
    i, j, image = contact
    away = one.image[j] + np.array(image) @ one.onward - one.image[i]
    return int(one.ring[i]), int(one.ring[j]), (int(away[0]), int(away[1]))


def _named(contact: Contact, around: int) -> Contact:
    """A contact by the one of its names that comes first, as rings are listed in pairs."""
    i, j, (k1, k2) = contact
    names = [(i, j, (k1, k2)), (j, i, (-k1, -k2))]
    if around > 1:
        half = (around - 1) // 2
        names = [(a, b, (k, (m + half) % around - half)) for a, b, (k, m) in names]
    return max(names, key=lambda one: (one[2], (-one[0], -one[1])))
