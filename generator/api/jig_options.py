"""What ``rw.jig`` takes for each jig: the options of its command, as types.

Kept equal to the jigs' own options by ``tests/api/test_options.py``. What an option means is told
by ``ringwright jig NAME --help``.
"""

# Without postponed annotations: a TypedDict then knows which of its keys are required.
from collections.abc import Sequence
from pathlib import Path
from typing import Literal, TypedDict

from ringwright.api.asked import Length
from ringwright.base.sizes import RingSize

Side = Literal["right", "left"]


class _Printer(TypedDict, total=False):
    """What it is printed on; ``shop`` is a shop file that says it."""

    shop: str | Path | None
    bed: str | None
    nozzle: Length | None
    layer: Length | None
    clearance: Length | None


class _Wire(TypedDict):
    """The wire's diameter, or a ``RingSize``, which needs no ``inner`` and no ``ratio``."""

    wire: Length | RingSize


class _Ring(_Wire, _Printer, total=False):
    """The ring, by inner diameter or aspect ratio."""

    inner: Length | None
    ratio: str | float | None


class _Woven(_Ring, total=False):
    """Rings of a second size, as for ``--second``."""

    second: str | Sequence[str] | None


class RingGauge(_Ring, total=False):
    """Of ``"ring-gauge"``."""

    step: Length | None


class WindingGuide(_Ring, total=False):
    """Of ``"winding-guide"``; it takes ``mandrel`` in place of ``inner`` too."""

    mandrel: Length | None
    coil_length: Length | None
    hand: Side | None
    crank: Side | None
    drive: Literal["crank", "drill"] | None
    metal: str | None
    temper: str | None
    yield_mpa: float | None


class CuttingCradle(_Ring, total=False):
    """Of ``"cutting-cradle"``."""

    coil_length: Length | None
    kerf: Length | None
    saw_depth: Length | None


class _Length(TypedDict):
    """The least length of the piece."""

    length: Length


class SortingTray(_Length, _Woven, total=False):
    """Of ``"sorting-tray"``; ``metal`` as ``"open=copper"``, or several such texts."""

    width: Length | None
    metal: str | Sequence[str] | None
    spare: float | None
    clasp_rings: int | None
    fill: str | float | None
    board: bool


class WeavingStand(_Woven, total=False):
    """Of ``"weaving-stand"``."""

    length: Length | None
    height: Length | None


class GiantSample(_Woven, total=False):
    """Of ``"giant-sample"``."""

    gap: Length | None
    scale: float | None
    repeats: int | None
    rows: int | None
    teaching: bool
