"""A piece being woven, as an animated binary glTF 2.0 file.

Where a way in was found, the rings give way, the new one comes in open along its own wire and
closes, and no ring passes through another. Where none was found, what is there swings to where it
leaves room for the new ring, which appears standing open; the way between these two states is
drawn straight, and metal may cut into metal on it.

Layout after the Khronos glTF 2.0 specification (from memory, checked with its validator).
"""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ringwright.base.arrays import Floats
from ringwright.base.json_values import Json, JsonObject
from ringwright.colour.role_looks import ROLE_LOOKS
from ringwright.geometry.helix import Helix
from ringwright.outputs.assembly_sheet.come_in import ComesIn
from ringwright.outputs.assembly_sheet.draw import CALM, CARRIED, NEW
from ringwright.outputs.assembly_sheet.open_ring import OpenRing, helix_mesh
from ringwright.outputs.assembly_sheet.views import Scene, View
from ringwright.outputs.models.write_glb import TO_GLTF
from ringwright.piece.mesh import Mesh, frames, torus_mesh, torus_normals, torus_segments
from ringwright.piece.piece import Piece

Numbers = NDArray[np.generic]

# Seconds: before the first ring, for every ring, until the piece has swung, the new ring is
# there, and has stood open and closed.
_BEGIN, _STEP = 1.0, 2.6
_SWUNG, _OPEN, _CLOSED = 0.6, 1.2, 2.0
# Where a ring comes in along its way: until the others have given way, it is in, and all is done.
_GIVEN, _IN, _DONE = 0.8, 4.2, 4.8
_FLOAT, _WHOLE = 5126, 5125
_VERTICES, _INDICES = 34962, 34963
_Z = np.array([0.0, 0.0, 1.0])
_LOOKS = {
    **{"start": CALM, "put in": NEW, "picked up": CARRIED},
    **{each.role: each.look for each in ROLE_LOOKS.values()},
}


@dataclass(frozen=True, eq=False)
class Track:
    """One ring through the animation. Lengths in millimetres.

    Attributes
    ----------
    name : its number on the sheet
    kind : ``"start"``, ``"put in"`` or ``"picked up"``, or its role
    core_mm, wire_mm : its radii
    born : the second at which it appears
    times : (k,) seconds of its poses
    places : (k, 3) its centre
    turns : (k, 4) unit quaternions x, y, z, w from a ring about the z axis
    opened : how it stands open when it appears, about the z axis in its own frame; or None
    shares : how far it is open, as a share of ``opened``, at times of its own; or None
    """

    name: str
    kind: str
    core_mm: float
    wire_mm: float
    born: float
    times: Floats
    places: Floats
    turns: Floats
    opened: OpenRing | Helix | None
    shares: tuple[Floats, Floats] | None = None


def write_animation(
    views: Sequence[View],
    path: Path,
    chord_error_mm: float = 0.03,
    roles: Mapping[str, str] | None = None,
    motions: Sequence[ComesIn | None] | None = None,
) -> None:
    """Write the rings of a sheet's views as they come.

    Parameters
    ----------
    views : of every step, in order; the start before them, where there is one
    path : the file; an older one is overwritten
    chord_error_mm : farthest that a facet may lie from the true ring
    roles : of the rings by their numbers, where rings are to look by role
    motions : how the ring of every view comes in, where that was looked for

    Raises
    ------
    OSError
        When the file cannot be written.
    """
    rings = tracks(views, motions)
    if roles is not None:
        rings = [replace(ring, kind=roles[ring.name]) for ring in rings]
    Path(path).write_bytes(_glb(rings, chord_error_mm))


def tracks(views: Sequence[View], motions: Sequence[ComesIn | None] | None = None) -> list[Track]:
    """Where every ring is when."""
    ways = list(motions or [None] * len(views))
    found: dict[str, Track] = {}
    from_s = 0.0
    for view, way in zip(views, ways, strict=True):
        if view.scene.new is None:
            for ring, name in enumerate(view.scene.piece.names):
                found[name] = _born(view, ring, 0.0, "start")
            from_s = _BEGIN
        elif way is not None:
            _come_in(found, view.scene, way, from_s)
            from_s += _DONE
        else:
            _swing(found, view, from_s)
            from_s += _STEP
    return list(found.values())


def _swing(found: dict[str, Track], view: View, from_s: float) -> None:
    """A step without a way: straight to where the new ring stands open, and to rest."""
    open_s = from_s + _SWUNG
    for ring, name in enumerate(view.piece.names):
        if name in found:
            found[name] = _moved(found[name], view.piece, ring, (from_s, open_s))
        else:
            kind = "put in" if ring == view.scene.new else "picked up"
            found[name] = _born(view, ring, open_s, kind)
            if found[name].opened is not None:
                times = np.array([open_s, from_s + _OPEN, from_s + _CLOSED])
                shares = (times, np.array([1.0, 1.0, 0.0]))
                found[name] = replace(found[name], shares=shares)
        rest = (from_s + _OPEN, from_s + _CLOSED)
        found[name] = _moved(found[name], view.scene.piece, ring, rest)


def _come_in(found: dict[str, Track], scene: Scene, way: ComesIn, from_s: float) -> None:
    """A step whose way was found: room is made, and the ring comes in along it."""
    piece = scene.piece
    given = np.linspace(from_s, from_s + _GIVEN, len(way.giving_way) or 1)
    times = np.linspace(from_s + _GIVEN, from_s + _IN, len(way.poses))
    there = [name for name in way.names if name in found]
    for at, name in enumerate(there):
        track = found[name]
        for second, rings in zip(given, way.giving_way, strict=False):
            track = _onward(track, second, rings.centres[at], rings.axes[at])
        found[name] = track
    for at, name in enumerate(way.names):
        first = way.poses[0].others
        if name not in found:
            turn = _quaternion(frames(first.axes[at][None])[0])
            ring = piece.names.index(name)
            radii = float(piece.core_radii_mm[ring]), float(piece.wire_radii_mm[ring])
            start = np.array([times[0]]), first.centres[at][None], turn[None]
            found[name] = Track(name, "picked up", *radii, float(times[0]), *start, None)
        track = found[name]
        for second, pose in zip(times, way.poses, strict=True):
            track = _onward(track, second, pose.others.centres[at], pose.others.axes[at])
        found[name] = track
    found[piece.names[_new(scene)]] = _its_way(piece.names[_new(scene)], way, times)


def _new(scene: Scene) -> int:
    assert scene.new is not None
    return scene.new


def _its_way(name: str, way: ComesIn, times: Floats) -> Track:
    """The ring that comes in."""
    rings = [pose.helix for pose in way.poses]
    widest = max(rings, key=lambda ring: ring.shift)
    turns = [_quaternion(ring.frame.T) for ring in rings]
    for at in range(1, len(turns)):
        # Of the two quaternions of a turn the one nearer to the last.
        turns[at] *= 1.0 if turns[at] @ turns[at - 1] >= 0.0 else -1.0
    shares = np.array([ring.shift / widest.shift for ring in rings])
    return Track(
        name,
        "put in",
        widest.core_radius,
        widest.wire_radius,
        float(times[0]),
        times,
        np.array([ring.centre for ring in rings]),
        np.array(turns),
        widest,
        (times, shares),
    )


def _born(view: View, ring: int, at_s: float, kind: str) -> Track:
    piece = view.piece
    turned = frames(piece.axes[ring][None])[0]
    opened = view.opened if kind == "put in" else None
    if opened is not None:
        opened = OpenRing(
            np.zeros(3),
            np.round(turned.T @ opened.axis, 9),
            opened.core_radius_mm,
            opened.wire_radius_mm,
            turned.T @ opened.cut,
            opened.shift_mm,
            opened.lean,
        )
    return Track(
        piece.names[ring],
        kind,
        float(piece.core_radii_mm[ring]),
        float(piece.wire_radii_mm[ring]),
        at_s,
        np.array([at_s]),
        piece.centres_mm[ring][None],
        _quaternion(turned)[None],
        opened,
    )


def _moved(track: Track, piece: Piece, ring: int, between_s: tuple[float, float]) -> Track:
    """The track with the swing to where the ring is in this piece."""
    before = between_s[0], track.places[-1], _turned(track.turns[-1], _Z)
    return _onward(_onward(track, *before), between_s[1], piece.centres_mm[ring], piece.axes[ring])


def _onward(track: Track, second: float, place: Floats, goal: Floats) -> Track:
    """The track with one more pose, from the last one straight."""
    axis = _turned(track.turns[-1], _Z)
    # A closed ring looks the same from both sides: the shorter turn will do.
    goal = goal * (1.0 if axis @ goal >= 0.0 else -1.0)
    turn = _product(_shortest(axis, goal), track.turns[-1])
    times, places, turns = track.times, track.places, track.turns
    if second <= times[-1]:
        times, places, turns = times[:-1], places[:-1], turns[:-1]
    return replace(
        track,
        times=np.append(times, second),
        places=np.vstack([places, place]),
        turns=np.vstack([turns, turn]),
    )


# ---- turns ----


def _quaternion(rotation: Floats) -> Floats:
    from scipy.spatial.transform import Rotation

    found: Floats = Rotation.from_matrix(rotation).as_quat()
    return found


def _shortest(start: Floats, end: Floats) -> Floats:
    """The shortest turn from one unit vector to another that is not its opposite."""
    turn = np.append(np.cross(start, end), 1.0 + start @ end)
    shortest: Floats = turn / np.linalg.norm(turn)
    return shortest


def _product(after: Floats, first: Floats) -> Floats:
    """The turn ``first`` and then ``after``."""
    vector = after[3] * first[:3] + first[3] * after[:3] + np.cross(after[:3], first[:3])
    both = np.append(vector, after[3] * first[3] - after[:3] @ first[:3])
    product: Floats = both / np.linalg.norm(both)
    return product


def _turned(turn: Floats, vector: Floats) -> Floats:
    twice = 2.0 * np.cross(turn[:3], vector)
    turned: Floats = vector + turn[3] * twice + np.cross(turn[:3], twice)
    return turned


# ---- the file ----


@dataclass
class _Buffer:
    """The binary part, and the JSON lists that say what is where in it.

    ``kinds`` are the kinds of ring there are, each a material.
    """

    kinds: list[str]
    data: bytearray = field(default_factory=bytearray)
    views: list[JsonObject] = field(default_factory=list)
    accessors: list[JsonObject] = field(default_factory=list)

    def add(self, values: Floats, kind: str, target: int | None, bounds: bool = False) -> int:
        """Append numbers with 4 bytes each; returns the accessor."""
        whole = kind == "SCALAR" and target == _INDICES
        raw = values.astype("<u4" if whole else "<f4")
        view: dict[str, Json] = {
            "buffer": 0,
            "byteOffset": len(self.data),
            "byteLength": raw.nbytes,
        }
        if target is not None:
            view["target"] = target
        accessor: dict[str, Json] = {
            "bufferView": len(self.views),
            "componentType": _WHOLE if whole else _FLOAT,
            "count": len(raw),
            "type": kind,
        }
        if bounds:
            flat = raw.reshape(len(raw), -1)
            accessor["min"] = flat.min(axis=0).tolist()
            accessor["max"] = flat.max(axis=0).tolist()
        self.data += raw.tobytes()
        self.views.append(view)
        self.accessors.append(accessor)
        return len(self.accessors) - 1


def _glb(rings: Sequence[Track], chord_error_mm: float) -> bytes:
    buffer = _Buffer([kind for kind in _LOOKS if any(ring.kind == kind for ring in rings)])
    meshes: list[JsonObject] = []
    shared: dict[tuple[float, float, str], int] = {}
    nodes: list[JsonObject] = [
        {
            "name": "piece",
            # Columns one after the other, as glTF wants it.
            "matrix": TO_GLTF.T.reshape(-1).tolist(),
            "children": list(range(1, len(rings) + 1)),
        }
    ]
    for ring in rings:
        key = (ring.core_mm, ring.wire_mm, ring.kind)
        if ring.opened is not None:
            mesh = len(meshes)
            meshes.append(_opening_mesh(buffer, ring, ring.opened, chord_error_mm))
        elif key in shared:
            mesh = shared[key]
        else:
            mesh = shared[key] = len(meshes)
            meshes.append(_closed_mesh(buffer, ring, chord_error_mm))
        # Nothing is seen of a ring before it comes.
        scale = {"scale": [0.0, 0.0, 0.0]} if ring.born > 0.0 else {}
        nodes.append(
            {
                "name": f"ring {ring.name}, {ring.kind}",
                "mesh": mesh,
                "translation": ring.places[0].tolist(),
                "rotation": ring.turns[0].tolist(),
                **scale,
            }
        )
    content: JsonObject = {
        "asset": {"version": "2.0", "generator": "ringwright"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": nodes,
        "meshes": meshes,
        "materials": [
            {
                "name": f"{kind} ({_LOOKS[kind].metal})",
                "pbrMetallicRoughness": {
                    "baseColorFactor": [*_LOOKS[kind].linear(), 1.0],
                    "metallicFactor": 0.6,
                    "roughnessFactor": 0.4,
                },
            }
            for kind in buffer.kinds
        ],
        "animations": [_animation(buffer, rings)],
        "accessors": buffer.accessors,
        "bufferViews": buffer.views,
        "buffers": [{"byteLength": len(buffer.data)}],
    }
    text = json.dumps(content, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    parts = struct.pack("<II", len(text), 0x4E4F534A) + text
    parts += struct.pack("<II", len(buffer.data), 0x004E4942) + bytes(buffer.data)
    return struct.pack("<III", 0x46546C67, 2, 12 + len(parts)) + parts


def _closed_mesh(buffer: _Buffer, ring: Track, chord_error_mm: float) -> JsonObject:
    segments = torus_segments(ring.core_mm, ring.wire_mm, chord_error_mm)
    vertices, faces = torus_mesh(ring.core_mm, ring.wire_mm, *segments)
    mesh = Mesh(vertices, torus_normals(*segments), faces)
    return {"name": f"{ring.kind} ring", "primitives": [_primitive(buffer, ring, mesh)]}


def _opening_mesh(
    buffer: _Buffer, ring: Track, opened: OpenRing | Helix, chord_error_mm: float
) -> JsonObject:
    """The ring closed, and as a morph target the way from there to the open one."""
    segments = torus_segments(ring.core_mm, ring.wire_mm, chord_error_mm)
    if isinstance(opened, Helix):
        shut, ajar = helix_mesh(opened, *segments, shut=True), helix_mesh(opened, *segments)
    else:
        shut, ajar = replace(opened, shift_mm=0.0).mesh(*segments), opened.mesh(*segments)
    primitive = _primitive(buffer, ring, shut)
    target = {
        "POSITION": buffer.add(ajar.vertices - shut.vertices, "VEC3", _VERTICES, bounds=True),
        "NORMAL": buffer.add(ajar.normals - shut.normals, "VEC3", _VERTICES),
    }
    return {
        "name": f"ring {ring.name}",
        "primitives": [{**primitive, "targets": [target]}],
        "weights": [1.0],
    }


def _primitive(buffer: _Buffer, ring: Track, mesh: Mesh) -> JsonObject:
    indices = mesh.faces.reshape(-1).astype(np.float64)
    return {
        "attributes": {
            "POSITION": buffer.add(mesh.vertices, "VEC3", _VERTICES, bounds=True),
            "NORMAL": buffer.add(mesh.normals, "VEC3", _VERTICES),
        },
        "indices": buffer.add(indices, "SCALAR", _INDICES),
        "material": buffer.kinds.index(ring.kind),
    }


def _animation(buffer: _Buffer, rings: Sequence[Track]) -> JsonObject:
    channels: list[JsonObject] = []
    samplers: list[JsonObject] = []

    def animate(
        node: int, path: str, times: Floats, values: Floats, kind: str, how: str = "LINEAR"
    ) -> None:
        samplers.append(
            {
                "input": buffer.add(times, "SCALAR", None, bounds=True),
                "output": buffer.add(values, kind, None),
                "interpolation": how,
            }
        )
        target: JsonObject = {"node": node, "path": path}
        channels.append({"sampler": len(samplers) - 1, "target": target})

    for node, ring in enumerate(rings, start=1):
        animate(node, "translation", ring.times, ring.places, "VEC3")
        animate(node, "rotation", ring.times, ring.turns, "VEC4")
        if ring.born > 0.0:
            shown = np.array([[0.0] * 3, [1.0] * 3])
            animate(node, "scale", np.array([0.0, ring.born]), shown, "VEC3", "STEP")
        if ring.shares is not None:
            animate(node, "weights", *ring.shares, "SCALAR")
    return {"name": "weaving", "channels": channels, "samplers": samplers}
