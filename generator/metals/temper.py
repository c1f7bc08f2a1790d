"""How hard a wire is drawn, and how strong it is then, by its diameter."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ringwright.metals.flow import true_stress_mpa
from ringwright.metals.name_keys import name_key

TEMPERS = ("soft", "quarter hard", "half hard", "hard", "spring hard")
SOFT = "soft"

Span = tuple[float, float]

# How far wires of one temper differ where a source gives one figure for each strength: common
# practice, no source; standards of wire leave about as much between their least and most.
_TENSILE_SPREAD, _YIELD_SPREAD = 0.08, 0.15
# Proof strength as a share of tensile strength where a standard of wire gives the second alone:
# from memory.
_YIELD_SHARES = {
    SOFT: (0.30, 0.55),
    "quarter hard": (0.58, 0.82),
    "half hard": (0.70, 0.90),
    "hard": (0.78, 0.93),
    "spring hard": (0.82, 0.95),
}


@dataclass(frozen=True)
class Strength:
    """How strong wires of one temper and diameter are, in MPa.

    Attributes
    ----------
    yield_span_mpa : stress at which it begins to stay bent (0.2 % proof stress), least and most
    tensile_span_mpa : highest pull over the first section, least and most
    """

    yield_span_mpa: Span
    tensile_span_mpa: Span

    @property
    def yield_mpa(self) -> float:
        """The middle."""
        return sum(self.yield_span_mpa) / 2.0

    @property
    def tensile_mpa(self) -> float:
        """The middle."""
        return sum(self.tensile_span_mpa) / 2.0

    def bending_mpa(self, modulus_mpa: float) -> float:
        """The true stress that stands for the whole bend of a ring: that at a strain of a tenth."""
        return true_stress_mpa(self.yield_mpa, self.tensile_mpa, modulus_mpa)


@dataclass(frozen=True)
class Temper:
    """How hard a wire is drawn.

    Attributes
    ----------
    name : one of ``TEMPERS``, or as a maker calls it
    source : where the figures are from
    strengths : each with the diameter in mm up to which it holds, thinnest first; the last holds
        for all thicker wire
    """

    name: str
    source: str
    strengths: tuple[tuple[float, Strength], ...]

    def of_wire(self, wire_mm: float) -> Strength:
        """Its strength at a diameter."""
        for up_to_mm, strength in self.strengths:
            if wire_mm <= up_to_mm + 1e-9:
                return strength
        return self.strengths[-1][1]


def temper_key(name: str) -> str:
    """What two names of one temper have in common."""
    return _TEMPER_NAMES.get(name_key(name), name_key(name))


_TEMPER_NAMES = {
    "deadsoft": "soft",
    "annealed": "soft",
    "fullhard": "hard",
    "harddrawn": "hard",
    "spring": "springhard",
}


def one_strength(name: str, yield_mpa: float, tensile_mpa: float, source: str) -> Temper:
    """A temper of which one yield and one tensile strength are known, whatever the diameter."""
    tensile = tensile_mpa * (1.0 - _TENSILE_SPREAD), tensile_mpa * (1.0 + _TENSILE_SPREAD)
    return Temper(name, source, ((math.inf, _proven(yield_mpa, tensile)),))


def _proven(proof_mpa: float, tensile_mpa: Span) -> Strength:
    """The strength of wire of which one proof strength is known, and a span of the tensile one."""
    low, high = proof_mpa * (1.0 - _YIELD_SPREAD), proof_mpa * (1.0 + _YIELD_SPREAD)
    # Yield never passes the tensile strength of the same wire.
    yields = min(low, 0.98 * tensile_mpa[0]), min(high, 0.98 * tensile_mpa[1])
    return Strength(yields, tensile_mpa)


def tempers_of(source: str, *listed: tuple[str, float, float]) -> tuple[Temper, ...]:
    """Tempers from one source: name, yield and tensile strength in MPa."""
    return tuple(one_strength(name, low, high, source) for name, low, high in listed)


def wire_temper(name: str, source: str, *rows: tuple[float, float, float]) -> Temper:
    """A temper from a standard of wire, which gives tensile strength by diameter.

    Parameters
    ----------
    rows : diameter up to which it holds, least and most tensile strength in MPa
    """
    shares = _YIELD_SHARES[name]
    return Temper(
        name,
        source,
        tuple(
            (up_to, Strength((shares[0] * low, shares[1] * high), (low, high)))
            for up_to, low, high in rows
        ),
    )


def proven_temper(name: str, source: str, *rows: tuple[float, float, float, float]) -> Temper:
    """The same from a standard that gives proof strength beside it.

    Parameters
    ----------
    rows : diameter up to which it holds, least and most tensile strength, proof strength
    """
    strengths = tuple((up_to, _proven(proof, (low, high))) for up_to, low, high, proof in rows)
    return Temper(name, source, strengths)
