"""Every metal that is known, of all the lists."""

from __future__ import annotations

from ringwright.metals.copper_alloys import COPPER_ALLOYS
from ringwright.metals.gold import GOLDS
from ringwright.metals.metal import Metal
from ringwright.metals.other_metals import OTHER_METALS
from ringwright.metals.silver import SILVERS

METALS: tuple[Metal, ...] = (*SILVERS, *COPPER_ALLOYS, *OTHER_METALS, *GOLDS)
