"""Wire that is annealed first: whether it may be, and how it bends then."""

from __future__ import annotations

from ringwright.base.errors import BadInput
from ringwright.making.ring.wire import Bending, bending
from ringwright.metals.annealing import Annealing
from ringwright.metals.metal import Metal
from ringwright.metals.temper import SOFT, temper_key


def annealed(
    metal: Metal | None, wire_mm: float, tried_soft: Bending | None
) -> tuple[str, Bending | None]:
    """The temper of wire that was annealed, and how it springs back.

    Parameters
    ----------
    tried_soft : by trial rings of the annealed wire; None where there are none

    Returns
    -------
    tuple[str, Bending | None]
        None where no strength of the soft metal is listed.

    Raises
    ------
    BadInput
        When the metal is not named, is not to be heated, or how is not known.
    """
    how_to_anneal(metal)
    if tried_soft is not None or metal is None or not metal.has_temper(SOFT):
        return SOFT, tried_soft
    return SOFT, bending(metal, SOFT, wire_mm)


def annealed_as_known(
    metal: Metal, wire_mm: float, temper: str | None, bends: Bending | None
) -> tuple[str, Bending | None]:
    """The same of wire that is known as it is now: soft wire springs back as before.

    Parameters
    ----------
    temper, bends : before it is annealed
    """
    is_soft = temper is not None and temper_key(temper) == SOFT
    return annealed(metal, wire_mm, bends if is_soft else None)


def how_to_anneal(metal: Metal | None) -> Annealing:
    """How a metal is annealed at the bench.

    Raises
    ------
    BadInput
        When none is named, it is not to be heated, or how is not known.
    """
    if metal is None:
        raise BadInput("--anneal needs --metal: some metals are never to be heated.")
    how = metal.annealing
    if how is None:
        raise BadInput(
            f"how {metal.name} is annealed is not known here: follow its maker and its safety "
            "sheet, leave --anneal out, and give the temper it has then"
        )
    if how.refused:
        raise BadInput(f"{metal.name} is not annealed at the bench: {how.refused}.")
    return how
