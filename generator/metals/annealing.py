"""How each metal is softened at the bench, what cleans it then, and what is not to be heated.

Common practice of jewellers, as in Tim McCreight, The Complete Metalsmith, and Erhard Brepohl,
Theory and Practice of Goldsmithing (both from memory), and as schools tell it: JMU metals
(mrooker.com, Annealing), facetjewelry.com (Annealing metal), capewatch.co.za (6 pickling steps).
The supplier's instructions and safety sheets, and local rules, come before it: the plan says so.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Annealing:
    """How wire is softened, or why it is not to be.

    Attributes
    ----------
    steps : what to do, in order; none where it is refused
    never : what is never to be done with it, one sentence each
    acid : whether the steps end in an acid bath
    refused : why it is not done at the bench, and what to do instead; empty where it is done
    """

    steps: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    acid: bool = False
    refused: str = ""


_PICKLE = "Cold, pickle it in warm citric acid or sodium bisulphate, rinse it well and dry it."
_WASH = "Cold, wash it with soap and water and dry it."
_ZINC_FUME = "Never heat it bright red: zinc leaves as fume, which makes ill."


def _heat(until: str) -> str:
    return (
        "Coil the wire, tie it with its own end, and heat it all round with a soft, moving flame, "
        f"in dim light, {until}."
    )


def _pickled(until: str, cool: str, *never: str) -> Annealing:
    return Annealing((_heat(until), cool, _PICKLE), never, acid=True)


_QUENCH = "Quench it in water once the glow is gone."
_SLOWLY = "Let it cool in air, unmoved, until it can be touched."
_DULL = "until it glows a dull red, and no longer"
_BARELY = "until it just begins to glow, and no longer"

COPPER = _pickled(_DULL, _QUENCH)
BRASS = _pickled(_BARELY, _QUENCH, _ZINC_FUME)
NICKEL_SILVER = _pickled(
    _DULL,
    _SLOWLY,
    "Never quench it hot: it cracks.",
    _ZINC_FUME,
)
TIN_BRONZE = _pickled(_DULL, _SLOWLY, "Never bend, lift or quench it while it glows: it breaks.")
SILVER = _pickled(_BARELY, _QUENCH, "Never go on to cherry red: it melts soon after, and scales.")
FINE_SILVER = Annealing(
    (_heat("until it is about to glow: it softens well below red heat"), _QUENCH, _WASH),
    ("Never go on to red heat: it grows coarse and melts.",),
)
ARGENTIUM = _pickled(
    _BARELY,
    _SLOWLY,
    "Never move or quench it while it glows: it breaks.",
)
GOLD = _pickled(
    _DULL,
    _QUENCH,
    "Never guess whether it is to be quenched: alloys of one carat and colour differ, and the "
    "maker of yours says.",
)
RED_GOLD = _pickled(
    _DULL,
    "Quench it in water as soon as the glow is gone: cooled slowly it turns hard and brittle.",
)
NICKEL_WHITE_GOLD = _pickled(
    _DULL,
    _SLOWLY,
    "Never quench it hot: it cracks.",
)
FINE_GOLD = Annealing(
    (_heat("well below red heat: it softens almost at once"), _SLOWLY, _WASH),
    ("Never heat it on a block with solder or other metal: it takes them up and is spoiled.",),
)
ALUMINIUM = Annealing(
    (
        "Coil the wire, tie it with its own end, rub soap on it, and heat it "
        "gently all round until the soap just turns dark brown; then take the flame away.",
        _SLOWLY,
        _WASH,
    ),
    (
        "Never wait for a colour: it gives none before it melts.",
        "Never put it in pickle or lye: both eat it.",
        "Never heat coloured (anodised) wire: the colour burns off.",
    ),
)
STAINLESS = Annealing(
    refused="stainless steel softens only above 1000 C and must then be cooled at once, and its "
    "scale comes off in acids (hydrofluoric, nitric) that have no place at a jeweller's bench: buy "
    "annealed wire"
)
REACTIVE = Annealing(
    refused="heated in air it takes up oxygen and nitrogen and turns brittle; mills anneal it in "
    "vacuum or argon: buy annealed wire"
)
GALVANISED = Annealing(
    refused="heating it gives off zinc fume, which makes ill (American Welding Society, Safety and "
    "Health Fact Sheet 25, as armourarchive.org quotes it): never heat it, and buy soft wire"
)
SPRING_STEEL = Annealing(
    refused="heat takes its temper and leaves scale, and no strength of it soft is listed: take "
    "another wire"
)
GOLD_FILLED = Annealing(
    refused="heat drives the thin gold into the brass and lays it bare: buy soft wire"
)
