r"""How a wire resists bending, as one curve of true stress against true strain.

    s = E e                       up to the yield point,
    s = K e^n                     beyond (Hollomon).

K and n follow from what standards give, proof and tensile strength. A wire in tension carries most
where its hardening just makes up for its thinning, at the true strain n (Considere), so
K = R_m (e / n)^n with e = 2.718; and at the proof strength R_p the strain is 0.002 + R_p / E.

Let go, metal that was bent does not unbend with Young's modulus but with a lower one, by a
tenth or so (:data:`ringwright.metals.metal.UNLOADING`). Springback depends on stress over that
modulus alone, so that is what is kept here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

# Strain at which a curve is named: about that of the middle fibres of a ring.
REFERENCE = 0.1
PROOF = 0.002


@dataclass(frozen=True)
class Flow:
    """True stress over the modulus that the wire unbends with, by strain.

    Attributes
    ----------
    at_tenth : at a strain of one tenth
    hardening : the exponent n; 0 for a wire that does not harden
    loading : modulus of first bending over that of unbending, at least 1
    """

    at_tenth: float
    hardening: float = 0.0
    loading: float = 1.0

    def times(self, factor: float) -> Flow:
        """The same curve with all stresses beyond yield so many times as high."""
        return replace(self, at_tenth=self.at_tenth * factor)

    @property
    def yield_strain(self) -> float:
        """Where the straight part of the curve ends; 0 for a wire that never springs back."""
        steep = self.at_tenth / (self.loading * REFERENCE**self.hardening)
        return float(steep ** (1.0 / (1.0 - self.hardening)))


# Springs back not at all: it keeps the size of its mandrel.
DEAD = Flow(0.0)


def hardening_exponent(yield_mpa: float, tensile_mpa: float, modulus_mpa: float) -> float:
    """The exponent n of a wire of this proof and tensile strength.

    Parameters
    ----------
    yield_mpa : 0.2 % proof strength, at most ``tensile_mpa``
    """
    proof_strain = PROOF + yield_mpa / modulus_mpa
    share = math.log(yield_mpa / tensile_mpa)

    def too_soft(n: float) -> float:
        return n * (1.0 + math.log(proof_strain / n)) - share

    from scipy.optimize import brentq

    return float(brentq(too_soft, proof_strain, 0.9, xtol=1e-12))


def true_stress_mpa(
    yield_mpa: float, tensile_mpa: float, modulus_mpa: float, strain: float = REFERENCE
) -> float:
    """True stress at a strain beyond yield, from proof and tensile strength."""
    n = hardening_exponent(yield_mpa, tensile_mpa, modulus_mpa)
    return float(tensile_mpa * (math.e * strain / n) ** n)


def flow_of(
    yield_mpa: float, tensile_mpa: float, modulus_mpa: float, unloading: float, share: float = 1.0
) -> Flow:
    """The curve of a wire.

    Parameters
    ----------
    unloading : modulus of unbending over Young's modulus, 0 to 1
    share : of the bending moment that is left where the wire is pulled while it is wound
    """
    n = hardening_exponent(yield_mpa, tensile_mpa, modulus_mpa)
    stress = true_stress_mpa(yield_mpa, tensile_mpa, modulus_mpa)
    return Flow(share * stress / (unloading * modulus_mpa), n, 1.0 / unloading)
