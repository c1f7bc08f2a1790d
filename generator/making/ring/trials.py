"""What trial rings tell of a spool: its strength, its hardening, and how sure both are.

A trial says how far wire sprang back from one mandrel, and so one number; the curve of
:class:`ringwright.metals.flow.Flow` has two. The exponent is therefore held near what the metal's
temper has, or near that of most metals, as firmly as such exponents are known, and rings from
unlike mandrels settle it. Both are fitted by least squares, each ring with the caliper's error;
what is left open, in strength, in hardening and in both together, is carried to the next mandrel.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize, format_mm
from ringwright.making.ring.coil import coil_inner_mm_for
from ringwright.making.ring.springback import check_trial, sprung_share
from ringwright.metals.flow import REFERENCE, Flow

# Of one spool; more say no more.
MOST_TRIALS = 20
# A worse reading tells nothing of a ring.
WORST_CALIPER_MM = 0.5
# Exponents of wire from dead soft to spring hard, and how far one temper's differ: from memory.
_ANY_HARDENING, _ANY_SPREAD = 0.17, 0.1
_SPREAD = 0.05
# A range is two standard deviations each way: nineteen rings of twenty lie in it.
_WIDE = 2.0
# Spools of one metal and temper differ by this much at most in strength (the spans of the standards
# of wire, see ringwright.metals.temper).
_OTHER_SPOOL = 0.1
# Mean strain of a bend over that at its surface, weighed as the moment weighs it: the derivative
# of the logarithm of its beta function by the exponent is the logarithm of this, near n = 0.2.
_MEAN_STRAIN = 0.554


@dataclass(frozen=True)
class Trial:
    """One ring or coil that was wound and measured; diameters in millimetres.

    Attributes
    ----------
    inner_mm : what came of it, measured inside
    kerf_mm : of the cut, where a closed ring was measured (0 for shears); None where the
        coil was, before any cut
    error_mm : by how much ``inner_mm`` may be off
    """

    wire_mm: float
    mandrel_mm: float
    inner_mm: float
    kerf_mm: float | None
    error_mm: float = defaults.CALIPER_MM

    def coil_mm(self) -> float:
        """Inside of the coil it was, let go.

        Raises
        ------
        BadInput
            When the measures cannot all be right.
        """
        if not 0.0 < self.error_mm <= WORST_CALIPER_MM:
            raise BadInput(
                f"a caliper's error of {format_mm(self.error_mm)} is outside 0 to "
                f"{format_mm(WORST_CALIPER_MM)}: give how far its reading may be off, e.g. 0.03mm"
            )
        coil_mm = self.inner_mm
        if self.kerf_mm is not None:
            coil_mm = coil_inner_mm_for(RingSize(self.wire_mm, self.inner_mm), self.kerf_mm)
        check_trial(self.wire_mm, self.mandrel_mm, coil_mm, self.error_mm)
        return coil_mm


@dataclass(frozen=True)
class Fitted:
    """Strength and hardening of a spool by its trials.

    Attributes
    ----------
    flow : the likeliest
    variances : of strength at a strain of a tenth, of the exponent, and of both together
    """

    flow: Flow
    variances: tuple[float, float, float]

    def ends(self, core_mm: float, wire_mm: float) -> tuple[Flow, Flow]:
        """The curves that spring back least and most from a bend, by what is left open.

        Parameters
        ----------
        core_mm : diameter to the middle of the wire, on the mandrel
        """
        strength, exponent, both = self.variances
        reach = self.flow.at_tenth * math.log(_MEAN_STRAIN * wire_mm / core_mm / REFERENCE)
        off = _WIDE * math.sqrt(max(0.0, strength + reach * (reach * exponent + 2.0 * both)))
        low = max(0.0, self.flow.at_tenth - off)
        return (
            replace(self.flow, at_tenth=low),
            replace(self.flow, at_tenth=self.flow.at_tenth + off),
        )

    def of_another_spool(self) -> Fitted:
        """What the trials of one spool say of another of the same metal and temper."""
        strength, exponent, both = self.variances
        more = (_OTHER_SPOOL * self.flow.at_tenth / _WIDE) ** 2
        return Fitted(self.flow, (strength + more, exponent, both))


def fitted(trials: Sequence[Trial], near: Flow | None = None) -> Fitted:
    """Strength and hardening by one or more trials.

    Where rings scatter by more than the caliper's error, their scatter takes its place.

    Parameters
    ----------
    near : the curve of the wire's metal and temper, whose hardening it will have; None where
        that is not known

    Raises
    ------
    BadInput
        When a trial cannot be right.
    """
    import numpy as np
    from scipy.optimize import least_squares

    coils_mm = [trial.coil_mm() for trial in trials]
    exponent = _ANY_HARDENING if near is None else near.hardening
    spread = _ANY_SPREAD if near is None else _SPREAD
    loading = 1.1 if near is None else near.loading
    # Lost curvature is nearly proportional to strength, so what a trial lost and by how much that
    # may be off are worked with; a ring that seems narrower than its mandrel lost nothing.
    cores = [trial.mandrel_mm + trial.wire_mm for trial in trials]
    wholes = [coil + trial.wire_mm for coil, trial in zip(coils_mm, trials, strict=True)]
    lost = [1.0 - core / whole for core, whole in zip(cores, wholes, strict=True)]
    off = [
        trial.error_mm / _WIDE * core / whole**2
        for trial, core, whole in zip(trials, cores, wholes, strict=True)
    ]
    wires = [trial.wire_mm for trial in trials]

    def misses(guess: np.ndarray) -> np.ndarray:
        flow = Flow(float(guess[0]), float(guess[1]), loading)
        told = [
            (sprung_share(core, wire, flow) - share) / error
            for core, wire, share, error in zip(cores, wires, lost, off, strict=True)
        ]
        return np.array([*told, (guess[1] - exponent) / spread])

    first = [max(1e-5, sum(lost) / len(lost)) * wires[0] / cores[0] / 1.7, exponent]
    found = least_squares(
        misses, first, bounds=([0.0, 0.0], [0.2, 0.6]), x_scale=[1e-3, 0.1], xtol=1e-12, ftol=1e-12
    )
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    scatter = float((found.fun[:-1] ** 2).sum()) / max(1, len(trials) - 1)
    covariance = covariance * max(1.0, scatter)
    flow = Flow(float(found.x[0]), float(found.x[1]), loading)
    variances = float(covariance[0, 0]), float(covariance[1, 1]), float(covariance[0, 1])
    return Fitted(flow, variances)
