"""Pictures of a jig: put together, and taken apart."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ringwright.base.arrays import Floats, NamedArrays
from ringwright.jigs.checks.rays import Rays, mesh_of, surface_points
from ringwright.jigs.parts.jig import Bought, Jig, Placed
from ringwright.outputs.models.artist import (
    INK,
    OVERSAMPLING,
    answer,
    flat_plotter,
    new_plotter,
    png_bytes,
    png_from_child,
    shot,
)

if TYPE_CHECKING:
    import trimesh

_LEGEND_SHARE = 0.30
_EDGE_DEG = 25.0


def drawn_places(jig: Jig) -> list[tuple[Placed, trimesh.Trimesh]]:
    """The items that a picture shows, each where it stands put together, and as triangles."""
    return [
        (place, mesh_of(body.moved(place.at)))
        for place in jig.placed
        if (body := _body(jig, place.item)) is not None
    ]


def write_jig_png(
    jig: Jig,
    places: Sequence[tuple[Placed, trimesh.Trimesh]],
    path: Path,
    apart: bool,
    size: tuple[int, int] = (1600, 1000),
) -> None:
    """Draw the jig, every item with its number; ``apart`` moves the items off one another.

    Parameters
    ----------
    places : from :func:`drawn_places`, for both of a jig's pictures

    Raises
    ------
    ringwright.outputs.models.artist.PictureUnavailable
        When the drawing library fails, or takes longer than two minutes.
    OSError
        When the file cannot be written.
    """
    items = jig.items
    sent: NamedArrays = {
        "size": np.array(size),
        "items": np.array([_line(jig, item.name) for item in items]),
        "colours": np.array([item.colour for item in items]),
        "drawn": np.array([_body(jig, item.name) is not None for item in items]),
        "metal": np.array([isinstance(item, Bought) for item in items]),
        "seen_from": np.array(jig.seen_from),
        "of_item": np.array([[item.name for item in items].index(each.item) for each, _ in places]),
    }
    for index, (place, mesh) in enumerate(places):
        shift = np.array(place.apart_mm) if apart else np.zeros(3)
        sent[f"vertices{index}"] = np.asarray(mesh.vertices) + shift
        sent[f"faces{index}"] = np.asarray(mesh.faces)
    Path(path).write_bytes(png_from_child(__name__, sent))


def _body(jig: Jig, name: str) -> Any:
    item = jig.item(name)
    return item.body if isinstance(item, Bought) else item.solid


def _line(jig: Jig, name: str) -> str:
    """An item's line in the legend."""
    item = jig.item(name)
    if isinstance(item, Bought):
        count, words = item.count, ", ".join(filter(None, (item.name, item.standard)))
    else:
        count, words = jig.count(item), f"{item.name} (printed)"
    return f"{count} x {words}" if count > 1 else words


def child() -> None:
    """Draw the jig that is sent."""
    answer(_draw)


# ---- what follows runs in the child process ----


def _draw(sent: NamedArrays) -> bytes:
    width, height = sent["size"].tolist()
    legend = round(_LEGEND_SHARE * width)
    picture = np.concatenate(
        [_view(sent, width - legend, height), _legend(sent, legend, height)], axis=1
    )
    return png_bytes(picture)


def _view(sent: NamedArrays, width: int, height: int) -> Floats:
    """The items in perspective, all of them in sight, each with its number on it."""
    import pyvista
    import trimesh

    plotter = new_plotter(width, height)
    _lamps(plotter, sent["seen_from"])
    meshes = [
        trimesh.Trimesh(sent[f"vertices{index}"], sent[f"faces{index}"], process=False)
        for index in range(len(sent["of_item"]))
    ]
    for mesh, item in zip(meshes, sent["of_item"], strict=True):
        data = pyvista.PolyData.from_regular_faces(mesh.vertices, mesh.faces)
        shaded = data.compute_normals(split_vertices=True, feature_angle=_EDGE_DEG)
        metal = bool(sent["metal"][item])
        plotter.add_mesh(
            shaded,
            color=sent["colours"][item],
            ambient=0.42,
            diffuse=0.70,
            specular=0.45 if metal else 0.08,
            specular_power=25.0 if metal else 8.0,
        )
        edges = data.extract_feature_edges(_EDGE_DEG, boundary_edges=False)
        if edges.n_cells:
            plotter.add_mesh(edges, color=INK, line_width=1.5, lighting=False, opacity=0.55)
    corners = np.concatenate([np.asarray(mesh.vertices) for mesh in meshes])
    toward = sent["seen_from"] / np.linalg.norm(sent["seen_from"])
    right = np.cross([0.0, 0.0, 1.0], toward)
    right /= np.linalg.norm(right)
    up = np.cross(toward, right)
    low = np.array([(corners @ way).min() for way in (right, up, toward)])
    high = np.array([(corners @ way).max() for way in (right, up, toward)])
    centre = np.stack([right, up, toward]).T @ ((low + high) / 2.0)
    sees_mm = 1.08 * max((high - low)[1], (high - low)[0] * height / width)
    camera = plotter.camera
    camera.enable_parallel_projection()
    camera.focal_point = centre
    camera.position = centre + 4.0 * float(np.linalg.norm(high - low)) * toward
    camera.up = (0.0, 0.0, 1.0)
    camera.parallel_scale = sees_mm / 2.0
    plotter.reset_camera_clipping_range()
    spots = _spots(meshes, toward)
    for spot, item in zip(spots, sent["of_item"].tolist(), strict=True):
        if spot is not None:
            across = (spot - centre) @ right / sees_mm * height + width / 2.0
            above = (spot - centre) @ up / sees_mm * height + height / 2.0
            _balloon(plotter, item + 1, across, above, height)
    return shot(plotter)


def _lamps(plotter: Any, seen_from: Floats) -> None:
    """One lamp from above, a weaker one from the left and one from the right, by the camera."""
    import pyvista

    # They stand before what is drawn, on the side that is looked at.
    side = np.array([1.0, -np.sign(seen_from[1]), 1.0])
    lamps = (((0.1, -0.2, 1.0), 0.62), ((-0.8, -0.9, 0.3), 0.30))
    placed = [(side * np.array(at), intensity) for at, intensity in lamps]
    for at, intensity in (*placed, (seen_from, 0.28)):
        lamp = pyvista.Light(position=tuple(at), light_type="scene light", intensity=intensity)
        lamp.positional = False
        plotter.add_light(lamp)


def _spots(meshes: list[Any], toward: Floats) -> list[Floats | None]:
    """For every mesh a point that the camera sees, in the midst of those it sees; or None."""
    import trimesh

    rays = Rays(trimesh.util.concatenate(meshes))
    spots: list[Floats | None] = []
    for mesh in meshes:
        points, faces = surface_points(mesh, 150)
        points, faces = points[len(mesh.faces) :], faces[len(mesh.faces) :]
        facing = np.asarray(mesh.face_normals)[faces] @ toward > 0.1
        seen = np.array([p for p in points[facing] if rays.first(p + 0.01 * toward, toward)[1] < 0])
        if not len(seen):
            spots.append(None)
            continue
        flat = seen - np.outer(seen @ toward, toward)
        spots.append(seen[np.linalg.norm(flat - flat.mean(axis=0), axis=1).argmin()])
    return spots


def _balloon(plotter: Any, number: int, across: float, above: float, height: int) -> None:
    """A number on a white disc, at a pixel of the view."""
    import pyvista

    text = pyvista.Text(str(number), position=(OVERSAMPLING * across, OVERSAMPLING * above))
    text.prop.font_family = "arial"
    text.prop.bold = True
    text.prop.font_size = round(OVERSAMPLING * 0.021 * height)
    text.prop.color = INK
    text.prop.background_color = "white"
    text.prop.background_opacity = 0.9
    text.prop.show_frame = True
    text.prop.frame_color = INK
    text.prop.justification_horizontal = "center"
    text.prop.justification_vertical = "center"
    plotter.add_actor(text)


def _legend(sent: NamedArrays, width: int, height: int) -> Floats:
    """Every item's number, colour and name, from the top down."""
    import pyvista

    plotter = flat_plotter(width, height)
    pitch = min(0.055 * height, 0.92 * height / len(sent["items"]))
    for index, (name, colour) in enumerate(zip(sent["items"], sent["colours"], strict=True)):
        above = 0.95 * height - (index + 0.5) * pitch
        if sent["drawn"][index]:
            swatch = pyvista.Disc(
                center=(0.12 * width, above, 0.0), inner=0.0, outer=0.28 * pitch, c_res=48
            )
            plotter.add_mesh(swatch, color=colour, lighting=False)
        words = f"{index + 1}" if sent["drawn"][index] else "-"
        _words(plotter, words, 0.05 * width, above, "center", height)
        for row, line in enumerate(_wrapped(str(name), 34)):
            _words(plotter, line, 0.19 * width, above - row * 0.45 * pitch, "left", height)
    plotter.reset_camera_clipping_range()
    return shot(plotter)


def _words(plotter: Any, words: str, across: float, above: float, side: str, height: int) -> None:
    import pyvista

    text = pyvista.Text(words, position=(OVERSAMPLING * across, OVERSAMPLING * above))
    text.prop.font_family = "arial"
    text.prop.font_size = round(OVERSAMPLING * 0.0185 * height)
    text.prop.color = INK
    text.prop.justification_horizontal = side
    text.prop.justification_vertical = "center"
    plotter.add_actor(text)


def _wrapped(words: str, most: int) -> list[str]:
    import textwrap

    return textwrap.wrap(words, most)[:2]
