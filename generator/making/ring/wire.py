"""How far a maker's own wire springs back: by the table, or by trial rings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ringwright.making.ring.trials import Fitted, Trial, fitted
from ringwright.metals.flow import Flow
from ringwright.metals.metal import Metal


@dataclass(frozen=True)
class Bending:
    """How a wire resists bending, and how sure that is.

    Attributes
    ----------
    flow : the likeliest curve
    trials : how many trial rings it rests on; 0 for the table
    spread : from the table, the curves that spring back least and most; from trials, what they
        leave open
    listed : metal and temper, where it is from the table
    is_borrowed : whether the trials are of another spool of the same metal and temper
    """

    flow: Flow
    trials: int
    spread: tuple[Flow, Flow] | Fitted
    listed: tuple[Metal, str] | None = None
    is_borrowed: bool = False

    def ends(self, mandrel_mm: float, wire_mm: float) -> tuple[Flow, Flow]:
        """The curves that spring back least and most from a mandrel.

        From the table they are the same for all of them; from trials they lie the farther apart,
        the less the bend is like that of the trials.
        """
        if isinstance(self.spread, Fitted):
            return self.spread.ends(mandrel_mm + wire_mm, wire_mm)
        return self.spread

    def of_wire(self, wire_mm: float) -> Bending:
        """That of another diameter of the same wire: by the table again, or by the same trials."""
        if self.listed is not None:
            return bending(*self.listed, wire_mm)
        return self.of_another_spool()

    def of_another_spool(self) -> Bending:
        """What trials say of another spool; a table says the same."""
        if not isinstance(self.spread, Fitted) or self.is_borrowed:
            return self
        return replace(self, spread=self.spread.of_another_spool(), is_borrowed=True)

    @property
    def source(self) -> str:
        """Where it is from, in words."""
        if self.listed is not None:
            metal, temper = self.listed
            return f"{metal.temper(temper).source}; a trial ring would be surer"
        rings = f"{self.trials} trial ring{'s' if self.trials > 1 else ''}"
        if self.is_borrowed:
            return f"{rings} of another spool of this metal and temper; one of this would be surer"
        return f"{rings} of your own"


def bending(metal: Metal, temper: str, wire_mm: float, trials: Sequence[Trial] = ()) -> Bending:
    """How a wire bends: by its trial rings, or the table where there are none.

    Raises
    ------
    BadInput
        When there are no trials and the metal is not listed in that temper, or when a trial
        cannot be right.
    """
    if trials:
        is_listed = metal.has_temper(temper)
        return tried(trials, metal.flow(temper, wire_mm) if is_listed else None)
    flow, ends = metal.flow(temper, wire_mm), metal.flow_range(temper, wire_mm)
    return Bending(flow, 0, ends, (metal, temper))


def tried(trials: Sequence[Trial], near: Flow | None = None) -> Bending:
    """How a wire bends by one or more trial rings.

    Parameters
    ----------
    near : the curve of its metal and temper; None where they are not known

    Raises
    ------
    BadInput
        When a trial cannot be right.
    """
    found = fitted(trials, near)
    return Bending(found.flow, len(trials), found)
