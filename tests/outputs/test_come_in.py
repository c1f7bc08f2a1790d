"""The animation of weaving: where ways were found, no ring passes through another."""

import numpy as np
import pytest
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation, Slerp

from ringwright.base.sizes import RingSize
from ringwright.geometry.helix import Helix
from ringwright.outputs.assembly_sheet import words
from ringwright.outputs.assembly_sheet.animation import tracks
from ringwright.outputs.assembly_sheet.come_in import coming_in
from ringwright.outputs.assembly_sheet.views import View, scenes
from ringwright.piece.half_made import half_made
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

# Between computed poses rings move straight: so much nearer they may come, in wire diameters.
TOLERANCE = 0.03
POINTS = 240


def wire(track, second):
    """Points of the middle of a ring's wire as it is played, or None before it comes."""
    if second < track.born:
        return None
    when = float(np.clip(second, track.times[0], track.times[-1]))
    place = np.array([np.interp(when, track.times, column) for column in track.places.T])
    turn = Rotation.from_quat(track.turns[-1])
    if len(track.times) > 1:
        turn = Slerp(track.times, Rotation.from_quat(track.turns))(when)
    angle = np.linspace(-np.pi, np.pi, POINTS)
    flat = [-np.cos(angle), -np.sin(angle), np.zeros(POINTS)]
    line = track.core_mm * np.stack(flat, axis=1)
    if isinstance(track.opened, Helix):
        ring = Helix(
            np.zeros(3),
            np.eye(3),
            track.core_mm,
            track.wire_mm,
            track.opened.hand,
            track.opened.shift,
        )
        share = np.interp(second, *track.shares)
        line = (1.0 - share) * line + share * ring.line(ring.turns(POINTS))
    return turn.apply(line) + place


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("one-in-one", RingSize(1.2, 4.2)),
        ("barrel", RingSize(0.9, 3.2)),
        ("byzantine", RingSize(1.0, 3.8)),
        ("half-persian-3-in-1", RingSize(1.0, 5.0)),
        ("european-4-in-1", RingSize(1.2, 5.0)),
        ("box-chain", RingSize(1.0, 4.8)),
    ],
)
def test_no_ring_passes_through_another_in_the_animation(name, size):
    rule = load_rule(name)
    states = list(half_made(rule, settle(rule, size).unit))
    made = scenes(rule, states, words.numbered(rule), size.core_radius_mm, {})
    motions = coming_in(made)
    assert all(
        (way is None) == (scene.new is None) for way, scene in zip(motions, made, strict=True)
    )
    toward = np.array([0.0, -1.0, 0.0])
    shown = [View(scene, scene.piece, None, toward, np.zeros(3), 1.0) for scene in made]
    rings = tracks(shown, motions)
    end = max(float(track.times[-1]) for track in rings)
    for second in np.linspace(0.0, end, 25 * len(made)):
        lines = [line for track in rings if (line := wire(track, second)) is not None]
        trees = [cKDTree(line) for line in lines]
        for at, tree in enumerate(trees):
            for line in lines[at + 1 :]:
                least = float(tree.query(line)[0].min())
                assert least >= (1.0 - TOLERANCE) * size.wire_mm, second
    for way in motions:
        assert way is None or way.gap_mm > size.wire_mm
