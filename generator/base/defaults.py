"""The defaults that stand in more than one place: commands, jigs, page and files read them here.

Those of a single module stand in it. The piece, the wire and the printer are common practice,
no source.
"""

from __future__ import annotations

from collections.abc import Mapping

# --- files ----------------------------------------------------------------------------

# One of ``base.paper.PAPERS``.
PAPER = "A4"
# Of a drawing: the largest scale that fits the paper.
SCALE = "fit"
# Behind pictures.
BACKGROUND = "light"
# How far a model's triangles may lie from the true ring.
CHORD_ERROR_MM = 0.02

# --- the piece ------------------------------------------------------------------------

# Least width of a sheet: that of a cuff, about an inch.
WIDTH_MM = 25.0
# Rings that are bent wrong, fall down or come out of square.
SPARES_PERCENT = 5.0
# One through each end of the chain.
CLASP_RINGS = 2
# What a comfortable piece has over the bare measure, its own thickness not counted.
EASE_MM: Mapping[str, float] = {"wrist": 12.0, "ankle": 15.0, "neck": 25.0, "finger": 2.0}
# Of a wrist: how far it is round, and its width over its depth.
WRIST_MM = 165.0
OVAL = 1.35

# --- wire -----------------------------------------------------------------------------

# Longest coil that is wound at a time: it still turns true on a thin mandrel and fits a saw's
# trough.
COIL_MM = 100.0
# Of a saw. Whether rings are sawn where nobody says so: ``making.ring.coil.USUAL_CUT``.
KERF_MM = 0.3
# How far the reading of a plain caliper may be off, both ways.
CALIPER_MM = 0.03

# --- the printer ----------------------------------------------------------------------

BED_MM = (220.0, 220.0, 250.0)
NOZZLE_MM = 0.4
LAYER_MM = 0.2
CLEARANCE_MM = 0.2

# --- searches -------------------------------------------------------------------------

SWEEP_STEPS = 25
SWEEP_WIRE_MM = 1.0
CANDIDATES = 6
RANDOM_STARTS = 40


def typed(length_mm: float) -> str:
    """A length as a maker types it.

    Examples
    --------
    >>> typed(25.0)
    '25mm'
    """
    return f"{length_mm:g}mm"
