"""How far a maker's own wire springs back: by the table, or by trial rings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.base.sizes import RingSize
from ringwright.making.ring.coil import coil_inner_mm_for
from ringwright.making.ring.springback import calibrated_strain
from ringwright.metals.metal import Metal


@dataclass(frozen=True)
class Trial:
    """One ring or coil that was wound and measured; diameters in millimetres.

    Attributes
    ----------
    inner_mm : what came of it, measured inside
    kerf_mm : of the cut, where a closed ring was measured (0 for shears); None where the
        coil was, before any cut
    """

    wire_mm: float
    mandrel_mm: float
    inner_mm: float
    kerf_mm: float | None

    def bending_strain(self) -> float:
        """What it says about the wire.

        Raises
        ------
        BadInput
            When the measures cannot all be right.
        """
        coil_mm = self.inner_mm
        if self.kerf_mm is not None:
            coil_mm = coil_inner_mm_for(RingSize(self.wire_mm, self.inner_mm), self.kerf_mm)
        return calibrated_strain(self.wire_mm, self.mandrel_mm, coil_mm)


@dataclass(frozen=True)
class Bending:
    """The flow stress of a wire over its Young's modulus, and how sure it is.

    Attributes
    ----------
    strain : the best guess
    low, high : from the table, between no hardening and all the wire can take; from trials,
        the smallest and the largest of them
    trials : how many trial rings it rests on; 0 for the table
    """

    strain: float
    low: float
    high: float
    trials: int

    @property
    def source(self) -> str:
        """Where it is from, in words."""
        if self.trials == 0:
            return "handbook strength of the metal; a trial ring would be surer"
        return f"{self.trials} trial ring{'s' if self.trials > 1 else ''} of your own"


def bending(metal: Metal, temper: str, trials: Sequence[Trial] = ()) -> Bending:
    """How a wire bends: the mean of its trial rings, or the table where there are none.

    Raises
    ------
    BadInput
        When there are no trials and the metal is not listed in that temper, or when a trial
        cannot be right.
    """
    if trials:
        return tried(trials)
    return Bending(metal.bending_strain(temper), *metal.bending_strain_range(temper), 0)


def tried(trials: Sequence[Trial]) -> Bending:
    """How a wire bends by one or more trial rings: their mean.

    Raises
    ------
    BadInput
        When a trial cannot be right.
    """
    strains = [trial.bending_strain() for trial in trials]
    return Bending(sum(strains) / len(strains), min(strains), max(strains), len(strains))
