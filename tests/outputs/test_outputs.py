"""The files of a piece, read back with other programs' readers."""

import colorsys
import json
import math
import re
import subprocess
import sys

import cadquery as cq
import numpy as np
import pytest
import stl
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.base.errors import BadInput
from ringwright.colour.looks import LOOKS
from ringwright.outputs.models import artist, picture
from ringwright.outputs.models.artist import PictureUnavailable
from ringwright.outputs.models.picture import write_png
from ringwright.outputs.models.write_glb import write_glb
from ringwright.outputs.models.write_step import write_step
from ringwright.outputs.models.write_stl import write_stl
from ringwright.piece import mesh
from ringwright.piece.mesh import frames, piece_mesh, torus_mesh, torus_normals, torus_segments
from ringwright.piece.piece import Piece

CHORD_MM = 0.02


def make_piece(*rings):
    """A piece from rows of (name, role, centre, axis, core radius, wire radius)."""
    names, roles, centres, axes, cores, wires = zip(*rings, strict=True)
    axes = np.array(axes, dtype=float)
    return Piece(
        names,
        roles,
        np.array(centres, dtype=float),
        axes / np.linalg.norm(axes, axis=1, keepdims=True),
        np.array(cores, dtype=float),
        np.array(wires, dtype=float),
    )


@pytest.fixture(scope="module")
def piece():
    """Rings of two sizes and both roles, none touching another, axes in all directions."""
    return make_piece(
        ("A.1", "closed", (0, 0, 0), (0, 0, 1), 2.05, 0.45),
        ("B.1", "open", (0, 8, 1), (0, 1, 0), 2.05, 0.45),
        ("A.2", "closed", (8, 0, 0), (0, 0, -1), 2.05, 0.45),
        ("B.2", "open", (8, 8, -1), (1, 2, -3), 3.0, 0.6),
        ("C.2", "closed", (16, 0, 2), (-1, 0.5, 0.1), 3.0, 0.6),
    )


def pappus_mm3(core_mm, wire_mm):
    """Volume of a torus, from the theorem of Pappus and Guldin."""
    return 2.0 * math.pi**2 * core_mm * wire_mm**2


def mesh_mm3(core_mm, wire_mm, around, across):
    """Volume of the triangulated torus.

    The cross-section, a regular polygon, sweeps from one half-plane to the next over wedges
    whose middle is at a distance core * cos(pi / around) from the axis and whose width there
    is twice core * sin(pi / around).
    """
    section = across / 2.0 * wire_mm**2 * math.sin(2.0 * math.pi / across)
    return around * math.sin(2.0 * math.pi / around) * core_mm * section


def from_torus_mm(points, core_mm, wire_mm):
    """Signed distance of points from a torus about z."""
    radial = np.hypot(points[:, 0], points[:, 1])
    return np.hypot(radial - core_mm, points[:, 2]) - wire_mm


# Triangles


sizes = st.tuples(st.floats(0.5, 20.0), st.floats(0.05, 0.9)).map(lambda s: (s[0], s[0] * s[1]))


@settings(derandomize=True, deadline=None, max_examples=60)
@given(sizes, st.floats(0.002, 0.2))
def test_no_point_of_a_facet_is_farther_from_the_torus_than_asked(size, part):
    core_mm, wire_mm = size
    chord_mm = part * wire_mm
    around, across = torus_segments(core_mm, wire_mm, chord_mm)
    vertices, faces = torus_mesh(core_mm, wire_mm, around, across)
    # By symmetry the first segment around stands for all.
    corners = vertices[faces[: 2 * across]]
    weights = np.array([(i, j, 6 - i - j) for i in range(7) for j in range(7 - i)], dtype=float)
    points = np.einsum("wk,fkd->wfd", weights / 6.0, corners).reshape(-1, 3)
    worst = np.abs(from_torus_mm(points, core_mm, wire_mm)).max()
    assert worst <= chord_mm * (1.0 + 1e-9)


@settings(derandomize=True, deadline=None, max_examples=15)
@given(sizes, st.floats(0.002, 0.2))
def test_no_coarser_pair_of_segments_keeps_the_bound(size, part):
    core_mm, wire_mm = size
    chord_mm = part * wire_mm
    around, across = torus_segments(core_mm, wire_mm, chord_mm)
    n, m = np.meshgrid(np.arange(12, 2000), np.arange(6, 400), indexing="ij")
    bound = (core_mm + wire_mm) * (1 - np.cos(np.pi / n)) + wire_mm * (1 - np.cos(np.pi / m))
    assert around * across == (n * m)[bound <= chord_mm * (1 + 1e-9)].min()


def test_a_known_ring_takes_as_many_segments_as_worked_by_hand():
    # (2.05 + 0.45) (1 - cos(pi/35)) + 0.45 (1 - cos(pi/15)) = 0.01007 + 0.00983 = 0.0199
    assert torus_segments(2.05, 0.45, 0.02) == (35, 15)


def test_a_chord_error_larger_than_the_ring_still_gives_a_ring():
    assert torus_segments(2.05, 0.45, 50.0) == (mesh.LEAST_AROUND, mesh.LEAST_ACROSS)


@pytest.mark.parametrize("chord_mm", [0.0, -0.02, math.nan, math.inf])
def test_a_chord_error_must_be_a_length(chord_mm):
    with pytest.raises(BadInput, match=r"chord error .* is not a length above zero"):
        torus_segments(2.05, 0.45, chord_mm)


def test_a_chord_error_far_too_small_is_refused_before_memory_runs_out(piece, monkeypatch):
    with pytest.raises(BadInput, match="ask for a larger chord error"):
        torus_segments(2.05, 0.45, 1e-12)
    monkeypatch.setattr(mesh, "MOST_TRIANGLES", 5000)
    assert torus_segments(2.05, 0.45, CHORD_MM) == (35, 15)
    with pytest.raises(BadInput, match=r"would take [\d,]+ triangles, .* at most 5,000"):
        piece_mesh(piece, CHORD_MM)


def test_the_mesh_of_a_ring_is_closed_faces_outward_and_has_the_volume_it_should():
    vertices, faces = torus_mesh(2.05, 0.45, 35, 15)
    assert vertices.shape == (35 * 15, 3)
    assert faces.shape == (2 * 35 * 15, 3)
    solid = trimesh.Trimesh(vertices, faces, process=False)
    assert solid.is_watertight
    assert solid.is_winding_consistent
    assert solid.euler_number == 0
    assert solid.volume == pytest.approx(mesh_mm3(2.05, 0.45, 35, 15), rel=1e-12)
    assert np.abs(from_torus_mm(vertices, 2.05, 0.45)).max() < 1e-14
    outward = vertices + 1e-3 * torus_normals(35, 15)
    assert from_torus_mm(outward, 2.05, 0.45) == pytest.approx(1e-3, rel=1e-9)


@settings(derandomize=True, deadline=None, max_examples=100)
@given(st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda axis: np.linalg.norm(axis) > 1e-3))
def test_frames_are_rotations_that_take_z_to_the_axis(axis):
    axis = np.array([axis]) / np.linalg.norm(axis)
    (frame,) = frames(axis)
    assert frame @ [0.0, 0.0, 1.0] == pytest.approx(axis[0], abs=1e-15)
    assert frame.T @ frame == pytest.approx(np.eye(3), abs=1e-14)
    assert np.linalg.det(frame) == pytest.approx(1.0, abs=1e-14)


def test_frames_do_not_depend_on_the_sign_of_a_zero_or_on_rounding_near_it():
    straight = frames(np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]))
    negative = frames(np.array([[1.0, -0.0, -0.0], [-0.0, 1.0, -0.0], [-0.0, -0.0, 1.0]]))
    assert straight.tobytes() == negative.tobytes()
    below = frames(np.array([[1.0, 0.0, -1e-15], [0.0, 1.0, -1e-15], [0.0, -1e-15, 1.0]]))
    assert np.abs(below - straight).max() < 1e-14


def test_a_mesh_of_some_rings_holds_just_those(piece):
    some = piece_mesh(piece, CHORD_MM, [4, 1])
    shells = trimesh.Trimesh(some.vertices, some.faces, process=False).split()
    centres = sorted(tuple(np.round(shell.center_mass, 6)) for shell in shells)
    assert centres == [(0.0, 8.0, 1.0), (16.0, 0.0, 2.0)]


# STL


@pytest.fixture(scope="module")
def stl_path(piece, tmp_path_factory):
    path = tmp_path_factory.mktemp("stl") / "piece.stl"
    write_stl(piece, path, CHORD_MM)
    return path


def rings_of(triangles, piece):
    """The triangles of each ring of a piece, as the ring would lie about z at the origin."""
    frame = frames(piece.axes)
    first = 0
    for ring in range(len(piece)):
        core_mm, wire_mm = piece.core_radii_mm[ring], piece.wire_radii_mm[ring]
        around, across = torus_segments(core_mm, wire_mm, CHORD_MM)
        part = triangles[first : first + 2 * around * across]
        first += len(part)
        yield (part - piece.centres_mm[ring]) @ frame[ring], core_mm, wire_mm, around, across
    assert first == len(triangles)


def test_an_stl_file_has_each_ring_where_it_lies_and_as_round_as_asked(piece, stl_path):
    read = stl.Mesh.from_file(str(stl_path))
    for part, core_mm, wire_mm, _, _ in rings_of(read.vectors.astype(float), piece):
        middles = part.mean(axis=1)
        edges = (part + np.roll(part, 1, axis=1)).reshape(-1, 3) / 2.0
        # What is written has seven digits.
        for points, limit in ((part.reshape(-1, 3), 3e-6), (middles, CHORD_MM), (edges, CHORD_MM)):
            assert np.abs(from_torus_mm(points, core_mm, wire_mm)).max() <= limit + 3e-6


def test_an_stl_file_has_true_facet_normals(stl_path):
    read = stl.Mesh.from_file(str(stl_path), calculate_normals=False)
    given_normals = read.normals.astype(float)
    read.update_normals()
    true = read.normals / np.linalg.norm(read.normals, axis=1, keepdims=True)
    assert np.abs(given_normals - true).max() < 1e-3
    assert np.linalg.norm(given_normals, axis=1) == pytest.approx(1.0, abs=1e-6)


def test_an_stl_file_has_closed_rings_of_the_right_volume(piece, stl_path):
    read = trimesh.load_mesh(stl_path)
    assert read.is_watertight
    shells = read.split()
    assert len(shells) == len(piece)
    by_place = {tuple(np.round(shell.center_mass, 2)): shell for shell in shells}
    for _, core_mm, wire_mm, around, across in rings_of(read.triangles, piece):
        expected = mesh_mm3(core_mm, wire_mm, around, across)
        # No more can be missing than a skin as thick as the chord error.
        area_mm2 = 4.0 * math.pi**2 * core_mm * wire_mm
        assert 0.0 < pappus_mm3(core_mm, wire_mm) - expected <= CHORD_MM * area_mm2
    for ring in range(len(piece)):
        shell = by_place[tuple(np.round(piece.centres_mm[ring], 2))]
        core_mm, wire_mm = piece.core_radii_mm[ring], piece.wire_radii_mm[ring]
        segments = torus_segments(core_mm, wire_mm, CHORD_MM)
        assert shell.volume == pytest.approx(mesh_mm3(core_mm, wire_mm, *segments), rel=1e-5)


def test_an_stl_file_is_binary_and_the_same_each_time(piece, stl_path, tmp_path):
    data = stl_path.read_bytes()
    assert not data.startswith(b"solid")
    triangles = int.from_bytes(data[80:84], "little")
    assert len(data) == 84 + 50 * triangles
    write_stl(piece, tmp_path / "again.stl", CHORD_MM)
    assert (tmp_path / "again.stl").read_bytes() == data


# STEP


@pytest.fixture(scope="module")
def step_path(piece, tmp_path_factory):
    path = tmp_path_factory.mktemp("step") / "piece.step"
    write_step(piece, path)
    return path


def test_a_step_file_has_true_tori_where_the_rings_lie(piece, step_path):
    solids = cq.importers.importStep(str(step_path)).solids().vals()
    assert len(solids) == len(piece)
    places = {tuple(np.round(solid.Center().toTuple(), 6)): solid for solid in solids}
    for ring in range(len(piece)):
        solid = places[tuple(np.round(piece.centres_mm[ring], 6))]
        (face,) = solid.Faces()
        assert face.geomType() == "TORUS"
        core_mm, wire_mm = piece.core_radii_mm[ring], piece.wire_radii_mm[ring]
        assert solid.Volume() == pytest.approx(pappus_mm3(core_mm, wire_mm), rel=1e-9)
        torus = face._geomAdaptor().Torus()
        axis = torus.Axis().Direction()
        along = np.dot([axis.X(), axis.Y(), axis.Z()], piece.axes[ring])
        assert abs(along) == pytest.approx(1.0, abs=1e-12)
        assert (torus.MajorRadius(), torus.MinorRadius()) == pytest.approx((core_mm, wire_mm))


def test_a_step_file_keeps_each_rings_name_place_and_colour(piece, step_path):
    read = cq.Assembly.importStep(str(step_path))
    assert sorted(child.name for child in read.children) == sorted(piece.names)
    for child in read.children:
        ring = piece.names.index(child.name)
        assert child.loc.toTuple()[0] == pytest.approx(tuple(piece.centres_mm[ring]), abs=1e-9)
        colour = child.color.toTuple()[:3]
        assert colour == pytest.approx(LOOKS[piece.roles[ring]].colour, abs=1e-3)


def test_a_step_file_has_one_solid_for_each_size_and_role_in_millimetres(step_path):
    text = step_path.read_text()
    # Sizes and roles of the piece: both in small, both in large.
    assert text.count("MANIFOLD_SOLID_BREP(") == 4
    assert text.count("TOROIDAL_SURFACE(") == 4
    assert sorted(re.findall(r"PRODUCT\('([^']*)'", text)) == [
        "closed ring 3.2 mm inside, 0.9 mm wire",
        "closed ring 4.8 mm inside, 1.2 mm wire",
        "open ring 3.2 mm inside, 0.9 mm wire",
        "open ring 4.8 mm inside, 1.2 mm wire",
        "piece",
    ]
    units = re.findall(r"LENGTH_UNIT\(\)[^;]*SI_UNIT\(([^)]*)\)", text)
    assert set(units) == {".MILLI.,.METRE."}


STEP_TWICE = """
import sys
sys.path.insert(0, sys.argv[1])
from test_outputs import make_piece
from ringwright.outputs.models.write_step import write_step

rings = [
    ("A.1", "closed", (0, 0, 0), (0, 0, 1), 2.05, 0.45),
    ("B.1", "open", (0, 8, 1), (0, 1, 0), 2.05, 0.45),
    ("A.2", "closed", (8, 0, 0), (0, 0, -1), 2.05, 0.45),
    ("B.2", "open", (8, 8, -1), (1, 2, -3), 3.0, 0.6),
    ("C.2", "closed", (16, 0, 2), (-1, 0.5, 0.1), 3.0, 0.6),
]
write_step(make_piece(*rings), sys.argv[2])
"""


def test_a_step_file_is_the_same_each_time_also_from_another_process(
    piece, step_path, tmp_path, request
):
    for turn in range(6):
        write_step(piece, tmp_path / f"{turn}.step")
    run = [sys.executable, "-c", STEP_TWICE, str(request.path.parent), str(tmp_path / "6.step")]
    subprocess.run(run, check=True, cwd=request.config.rootpath)
    written = {step_path.read_bytes(), *(path.read_bytes() for path in tmp_path.iterdir())}
    assert len(written) == 1
    assert written.pop().rstrip().endswith(b"END-ISO-10303-21;")


def test_writing_a_step_file_prints_nothing_and_tells_how_far_it_is(piece, tmp_path, capfd):
    told = []
    write_step(piece, tmp_path / "piece.step", lambda done, of: told.append((done, of)))
    assert told == [(1, 5), (2, 5), (3, 5), (4, 5), (5, 5)]
    assert capfd.readouterr().out == ""
    print("standard output is back")
    assert capfd.readouterr().out == "standard output is back\n"


def test_a_step_file_that_cannot_be_written_is_noticed(piece, tmp_path):
    with pytest.raises(FileNotFoundError):
        write_step(piece, tmp_path / "missing" / "piece.step")


# GLB


@pytest.fixture(scope="module")
def glb_path(piece, tmp_path_factory):
    path = tmp_path_factory.mktemp("glb") / "piece.glb"
    write_glb(piece, path, CHORD_MM)
    return path


def test_a_glb_file_has_a_named_node_for_each_ring_in_metres_with_y_up(piece, glb_path):
    scene = trimesh.load_scene(glb_path)
    assert sorted(scene.graph.nodes_geometry) == sorted(piece.names)
    for ring, name in enumerate(piece.names):
        matrix, _ = scene.graph[name]
        x, y, z = piece.centres_mm[ring]
        assert matrix[:3, 3] == pytest.approx([x / 1000, z / 1000, -y / 1000], abs=1e-9)
        x, y, z = piece.axes[ring]
        assert matrix[:3, 2] * 1000 == pytest.approx([x, z, -y], abs=1e-6)
    x, y, z = np.ptp(piece_mesh(piece, CHORD_MM).vertices, axis=0) / 1000
    assert scene.extents == pytest.approx([x, z, y], rel=1e-5)


def test_a_glb_file_shares_a_mesh_among_rings_of_one_size_and_role(piece, glb_path):
    scene = trimesh.load_scene(glb_path)
    assert len(scene.geometry) == 4
    for name, role, core_mm, wire_mm in zip(
        piece.names, piece.roles, piece.core_radii_mm, piece.wire_radii_mm, strict=True
    ):
        shared = scene.geometry[scene.graph[name][1]]
        segments = torus_segments(core_mm, wire_mm, CHORD_MM)
        assert shared.volume == pytest.approx(mesh_mm3(core_mm, wire_mm, *segments), rel=1e-5)
        assert shared.vertex_normals == pytest.approx(torus_normals(*segments), abs=1e-5)
        assert shared.visual.material.name == role


def test_a_glb_file_has_a_metal_for_each_role(glb_path):
    data = glb_path.read_bytes()
    assert data[:4] == b"glTF"
    assert int.from_bytes(data[4:8], "little") == 2
    assert int.from_bytes(data[8:12], "little") == len(data)
    described = json.loads(data[20 : 20 + int.from_bytes(data[12:16], "little")])
    materials = {each["name"]: each["pbrMetallicRoughness"] for each in described["materials"]}
    assert set(materials) == {"open", "closed"}
    for role, material in materials.items():
        assert material["metallicFactor"] == 1.0
        expected = [*LOOKS[role].linear(), 1.0]
        # The library keeps colours as whole numbers up to 255.
        assert material["baseColorFactor"] == pytest.approx(expected, abs=1 / 255)


def test_a_glb_file_is_the_same_each_time(piece, glb_path, tmp_path):
    write_glb(piece, tmp_path / "again.glb", CHORD_MM)
    assert (tmp_path / "again.glb").read_bytes() == glb_path.read_bytes()


# PNG


SIZE = (480, 270)


@pytest.fixture(scope="module")
def png_path(piece, tmp_path_factory):
    path = tmp_path_factory.mktemp("png") / "piece.png"
    write_png(piece, path, SIZE)
    return path


def pixels(path):
    import pyvista

    return np.asarray(pyvista.read(path).active_scalars).reshape(SIZE[1], SIZE[0], 3)[::-1]


def shares(part):
    """Shares of clearly orange and of clearly blue pixels."""
    hue, _, saturation = np.vectorize(colorsys.rgb_to_hls)(*np.moveaxis(part / 255.0, 2, 0))
    strong = (saturation > 0.15) & (np.ptp(part, axis=2) > 12)
    orange = strong & (np.abs(hue - 0.08) < 0.06)
    blue = strong & (np.abs(hue - 0.58) < 0.06)
    return orange.mean(), blue.mean()


def test_a_picture_shows_both_roles_in_each_of_its_three_parts(png_path):
    shown = pixels(png_path)
    assert shown.shape == (SIZE[1], SIZE[0], 3)
    # Whole piece, close-up and legend, from the top.
    for part, least in ((shown[:54], 0.002), (shown[54:248], 0.01), (shown[249:], 0.0005)):
        orange, blue = shares(part)
        assert orange > least
        assert blue > least
    # A light ground with dark text in the legend.
    assert np.median(shown) > 220
    assert shown[249:].min() < 90


def test_the_shadow_of_many_rings_is_coarser(piece, monkeypatch):
    rings = np.arange(len(piece))
    low, high = np.array([-20.0, -20.0]), np.array([60.0, 20.0])
    table_mm = float(piece.centres_mm[:, 2].min() - piece.core_radii_mm.max())
    fine = picture._shadow(piece, rings, table_mm, low, high)
    # As of sixteen times as many as have it fine.
    monkeypatch.setattr(picture, "_FINE_SHADOWS", len(piece) / 16)
    coarse = picture._shadow(piece, rings, table_mm, low, high)
    assert fine.shape[0] == pytest.approx(4 * coarse.shape[0], abs=4)
    # A cell is dark as a whole, so the shadow's edge is up to a cell farther out.
    assert 0.01 < fine.mean() < coarse.mean() < 2.0 * fine.mean()


def test_a_picture_is_the_same_each_time(piece, png_path, tmp_path):
    write_png(piece, tmp_path / "again.png", SIZE)
    assert (tmp_path / "again.png").read_bytes() == png_path.read_bytes()


@pytest.mark.parametrize(
    ("code", "reason"),
    [
        ("raise ImportError('libGL.so.1: cannot open shared object file')", "libGL.so.1: cannot"),
        ("import os, signal; os.kill(os.getpid(), signal.SIGSEGV)", r"crashed \(SIGSEGV\)"),
        ("print('not a picture')", "failed"),
        ("import time; time.sleep(60)", "not finished in 1 seconds"),
    ],
)
def test_without_graphics_libraries_there_is_no_picture_but_a_remedy(
    piece, tmp_path, monkeypatch, code, reason
):
    monkeypatch.setattr(artist, "_command", lambda: [sys.executable, "-c", code])
    if "sleep" in code:
        monkeypatch.setattr(artist, "TIME_LIMIT_S", 1.0)
    with pytest.raises(PictureUnavailable, match=rf"{reason}.*apt-get install libgl1 libegl1"):
        write_png(piece, tmp_path / "piece.png", SIZE)
    assert list(tmp_path.iterdir()) == []


def test_without_a_program_to_draw_with_there_is_no_picture(piece, tmp_path, monkeypatch):
    monkeypatch.setattr(artist, "_command", lambda: ["/no/such/program"])
    with pytest.raises(PictureUnavailable, match="did not start"):
        write_png(piece, tmp_path / "piece.png", SIZE)


def test_a_picture_that_cannot_be_written_is_an_error_of_the_file(
    piece, tmp_path, png_path, monkeypatch
):
    code = f"import sys; sys.stdout.buffer.write(open({str(png_path)!r}, 'rb').read())"
    monkeypatch.setattr(artist, "_command", lambda: [sys.executable, "-c", code])
    with pytest.raises(FileNotFoundError):
        write_png(piece, tmp_path / "missing" / "piece.png", SIZE)
