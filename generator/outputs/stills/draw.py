"""Stills drawn by a process of their own; see ``ringwright.outputs.models.artist``.

The metal is shaded physically, pixel by pixel, by the drawing library: it mirrors the studio of
:mod:`ringwright.outputs.stills.studio`, blurred as its finish asks. Many pictures from within one
pixel and from all over the lens are put together into one: edges are smooth, and what is not in
focus is blurred as in a camera.
"""

from __future__ import annotations

import importlib
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ringwright.base.arrays import Floats, Levels, NamedArrays
from ringwright.outputs.models.artist import answer, new_plotter
from ringwright.outputs.stills import studio
from ringwright.outputs.stills.bounce import Shade, close_points, ground_shade, mirrored_share
from ringwright.outputs.stills.form import Form, form_of
from ringwright.outputs.stills.views import Camera
from ringwright.piece.mesh import Mesh, piece_mesh
from ringwright.piece.piece import Piece

# So many pictures from a lens of so much of the distance or more.
_SAMPLES = ((0.008, 32), (0.001, 20), (0.0, 16))
# The ground's shade is soft anyway: one in so many is enough of it.
_SHADOW_EVERY = 4
# By so much on the table for a millimetre of height.
_SHADOWS_FALL = (0.34, -0.22)
# Light of the mirrored studio is given to the library so much weaker; see studio.film().
_EXPOSURE = 1.0 / studio.HEADROOM
# Of every place in every one of the many pictures another, and each time the same.
_GRAIN = (
    "  fragOutput0.rgb += (fract(sin(dot(gl_FragCoord.xy + 997.0 * vertexVC.xy, "
    "vec2(12.9898, 78.233))) * 43758.5453) - 0.5) / 160.0;"
)


@dataclass(frozen=True, eq=False)
class Scene:
    """What a still shows.

    Attributes
    ----------
    piece : the rings that can be in sight
    paints : per ring its metal, colour or role
    background : one of ``studio.BACKGROUNDS``
    size : width and height in pixels
    ground_mm : height of the table
    form : that the piece is worn on; None where it is not, or that is not shown
    hangs : whether it hangs free, or is worn on what does, with no table to cast a shadow on
    """

    piece: Piece
    paints: tuple[str, ...]
    camera: Camera
    background: str
    size: tuple[int, int]
    ground_mm: float
    form: Form | None = None
    hangs: bool = False


def sent(scenes: Sequence[Scene]) -> NamedArrays:
    """What the drawing process needs to know; all pictures are of one width."""
    arrays: NamedArrays = {"count": np.array(len(scenes))}
    for index, scene in enumerate(scenes):
        arrays |= {f"{index} {name}": part for name, part in _parts(scene).items()}
    return arrays


def _parts(scene: Scene) -> NamedArrays:
    piece, camera, form = scene.piece, scene.camera, scene.form
    return {
        "centres_mm": piece.centres_mm,
        "axes": piece.axes,
        "core_radii_mm": piece.core_radii_mm,
        "wire_radii_mm": piece.wire_radii_mm,
        "paints": np.array(scene.paints, dtype=np.str_),
        "stands": camera.stands,
        "looks_at": camera.looks_at,
        "lens": np.array([camera.opening, camera.shape, camera.lens, camera.nearer]),
        "background": np.array(scene.background),
        "size": np.array(scene.size),
        "ground_mm": np.array(scene.ground_mm),
        "form": np.array([] if form is None else form.numbers()),
        "hangs": np.array(scene.hangs),
    }


def child() -> None:
    """Draw the stills that are sent."""
    answer(_draw_sent, _warm_up)


# ---- what follows runs in the child process ----


def _warm_up() -> None:
    importlib.import_module("pyvista")


def _draw_sent(arrays: NamedArrays) -> bytes:
    """All stills in one PNG file, one below the other."""
    scenes = [_scene(arrays, index) for index in range(int(arrays["count"]))]
    return _png(np.concatenate([_picture(scene) for scene in scenes]))


def _scene(arrays: NamedArrays, index: int) -> Scene:
    mark = f"{index} "
    part = {name.removeprefix(mark): arrays[name] for name in arrays if name.startswith(mark)}
    count = len(part["paints"])
    piece = Piece(
        tuple(str(ring) for ring in range(count)),
        ("open",) * count,
        part["centres_mm"],
        part["axes"],
        part["core_radii_mm"],
        part["wire_radii_mm"],
    )
    width, height = part["size"].tolist()
    return Scene(
        piece,
        tuple(part["paints"].tolist()),
        Camera(part["stands"], part["looks_at"], *part["lens"].tolist()),
        str(part["background"]),
        (width, height),
        float(part["ground_mm"]),
        form_of(part["form"].tolist()) if len(part["form"]) else None,
        bool(part["hangs"]),
    )


def _picture(scene: Scene) -> Levels:
    """The still, (rows, columns, 4) levels."""
    width, height = scene.size
    plotter = new_plotter(width, height)
    plotter.window_size = [width, height]
    plotter.render_window.SetAlphaBitPlanes(True)
    plotter.renderer.AutomaticLightCreationOff()
    _light(plotter, scene.background == studio.DARK)
    shade = None if scene.hangs else _ground(scene)
    things = [] if scene.form is None else [_form(plotter, scene, scene.form)]
    things += _rings(plotter, scene, shade)
    shadow = None if shade is None else _shadow(plotter, shade, scene.ground_mm)
    colour, cover = _together(plotter, scene.camera, things, shadow)
    plotter.close()
    return _finished(colour, cover, scene.background)


def _ground(scene: Scene) -> Shade:
    """The shade of everything on the table."""
    core_mm = float(scene.piece.core_radii_mm.max())
    cell_mm = _cell_mm(scene)
    points = [close_points(scene.piece, cell_mm)]
    if scene.form is not None:
        points.append(scene.form.inside(cell_mm))
        cell_mm *= 2.0
    above = np.concatenate(points) - np.array([0.0, 0.0, scene.ground_mm])
    margin_mm = 8.0 * core_mm + float(above[:, 2].max())
    return ground_shade(above, core_mm, margin_mm, cell_mm, _SHADOWS_FALL)


def _cell_mm(scene: Scene) -> float:
    """How fine shades are worked out: as fine as rings ask for, or as the picture can show."""
    pixel_mm = scene.camera.finest_mm(scene.camera.looks_at, scene.size[1])
    return max(float(scene.piece.core_radii_mm.max()) / 12.0, pixel_mm)


def _light(plotter: Any, dark: bool) -> None:
    """Have everything lit by the studio."""
    import pyvista

    levels = (_EXPOSURE * studio.light_all_round(dark)).astype(np.float32)
    rows, columns = levels.shape
    image = pyvista.ImageData(dimensions=(columns, rows, 1))
    image.point_data["light"] = np.repeat(levels.reshape(-1, 1), 3, axis=1)
    texture = pyvista.Texture()
    texture.SetInputData(image)
    texture.SetColorModeToDirectScalars()
    texture.MipmapOn()
    texture.InterpolateOn()
    renderer = plotter.renderer
    renderer.UseImageBasedLightingOn()
    renderer.SetEnvironmentTexture(texture, False)
    renderer.SetEnvironmentUp(0.0, 0.0, 1.0)
    renderer.SetEnvironmentRight(1.0, 0.0, 0.0)
    renderer.GetEnvMapPrefiltered().SetPrefilterLevels(6)
    # The studio has no sharp edges, so this many rays do.
    renderer.GetEnvMapPrefiltered().SetPrefilterMaxSamples(256)


def _rings(plotter: Any, scene: Scene, shade: Shade | None) -> list[Any]:
    """Metal rings, each point as dark as the others leave it."""
    paints = np.array(scene.paints)
    # Near ones first: what they hide need not be shaded.
    away = np.linalg.norm(scene.piece.centres_mm - scene.camera.stands, axis=1)
    order = np.argsort(away, kind="stable")
    things = []
    for paint in np.unique(paints).tolist():
        finish = studio.finish_of(paint)
        parts = [
            _ring(scene, ring, finish, shade) for ring in order[paints[order] == paint].tolist()
        ]
        things.append(_metal(plotter, parts, finish))
    return things


def _ring(
    scene: Scene, ring: int, finish: studio.Finish, shade: Shade | None
) -> tuple[Mesh, Floats]:
    """One ring, and the colour in which each of its points mirrors the studio."""
    finest_mm = scene.camera.finest_mm(scene.piece.centres_mm[ring], scene.size[1])
    mesh = piece_mesh(scene.piece, 0.25 * finest_mm, [ring])
    seen, rings = mirrored_share(
        scene.piece,
        ring,
        mesh,
        scene.camera.stands,
        finish.roughness,
        None if shade is None else (shade, scene.ground_mm),
        scene.form,
    )
    metal = np.array(finish.colour)
    # What is mirrored twice takes the metal's colour twice.
    return mesh, metal * (seen[:, None] + rings[:, None] * metal)


def _metal(plotter: Any, parts: list[tuple[Mesh, Floats]], finish: studio.Finish) -> Any:
    import pyvista

    counts = np.cumsum([0] + [len(mesh.vertices) for mesh, _ in parts])
    data = pyvista.PolyData.from_regular_faces(
        np.concatenate([mesh.vertices for mesh, _ in parts]),
        np.concatenate([mesh.faces + n for (mesh, _), n in zip(parts, counts, strict=False)]),
    )
    data.point_data.active_normals = np.concatenate([mesh.normals for mesh, _ in parts])
    colours = np.concatenate([colour for _, colour in parts])
    # The library takes 256 levels; as square roots, dark ones are told apart as well.
    data.point_data["metal"] = np.rint(255.0 * np.sqrt(np.clip(colours, 0.0, 1.0))).astype(np.uint8)
    thing = plotter.add_mesh(
        data,
        scalars="metal",
        rgb=True,
        pbr=True,
        metallic=1.0,
        roughness=finish.roughness,
        culling="back",
    )
    _tuned(thing)
    return thing


def _form(plotter: Any, scene: Scene, form: Form) -> Any:
    """What the piece is worn on: matt, neutral, with the rings' shadow on it."""
    import pyvista

    core_mm = float(scene.piece.core_radii_mm.max())
    cell_mm = _cell_mm(scene)
    mesh = form.mesh(2.0 * cell_mm)
    # The shadow is worked out on its surface rolled flat.
    flat = form.rolled_flat(close_points(scene.piece, cell_mm))
    shade = ground_shade(flat, core_mm, 8.0 * core_mm, cell_mm, (-0.15, -0.5))
    light = 1.0 - shade.at(form.rolled_flat(mesh.vertices)[:, :2])
    if not scene.hangs:
        # Near the table less light comes from below.
        light *= 1.0 - 0.35 * np.exp(-(mesh.vertices[:, 2] - scene.ground_mm) / (2.5 * core_mm))
    data = pyvista.PolyData.from_regular_faces(mesh.vertices, mesh.faces)
    data.point_data.active_normals = mesh.normals
    colour = np.array(studio.FORM) * light[:, None]
    data.point_data["form"] = np.rint(255.0 * np.sqrt(colour)).astype(np.uint8)
    thing = plotter.add_mesh(data, scalars="form", rgb=True, pbr=True, metallic=0.0, roughness=0.95)
    _tuned(thing)
    return thing


def _tuned(thing: Any) -> None:
    """Undo the square root of the colours where they are used, and keep edges from shining.

    Seen at a grazing angle all metal is white, but what it mirrors there is what lies behind it,
    other rings for the most part; so it pales half way only, and not where rings hide the studio.
    Grain of a level or less keeps plain surfaces from showing the levels as bands.
    """
    changes = {
        "//VTK::Color::Impl": "//VTK::Color::Impl\n  diffuseColor *= diffuseColor;\n",
        "edgeTintUniform, metallic)": "0.8 * sqrt(albedo), metallic)",
        "max(vec3(1 - roughness), F0)": "max(0.8 * sqrt(F0), F0)",
        "//VTK::Light::Impl": f"{_GRAIN}\n//VTK::Light::Impl\n",
    }
    for old, new in changes.items():
        thing.GetShaderProperty().AddFragmentShaderReplacement(
            old, old.startswith("//"), new, False
        )


def _shadow(plotter: Any, shade: Shade, height_mm: float) -> Any:
    """The ground's shade as a plane from black to white."""
    import pyvista

    size, centre = shade.high - shade.low, (shade.low + shade.high) / 2.0
    plane = pyvista.Plane(
        center=(*centre, height_mm),
        direction=(0.0, 0.0, 1.0),
        i_size=size[0],
        j_size=size[1],
        i_resolution=1,
        j_resolution=1,
    )
    # A corner of the picture belongs to each corner of the plane, wherever it begins.
    plane.active_texture_coordinates = (plane.points[:, :2] - shade.low) / size
    image = pyvista.ImageData(dimensions=(shade.dark.shape[1], shade.dark.shape[0], 1))
    levels = np.rint(255.0 * np.clip(shade.dark, 0.0, 1.0)).astype(np.uint8)
    image.point_data["shade"] = np.repeat(levels.reshape(-1, 1), 3, axis=1)
    texture = pyvista.Texture()
    texture.SetInputData(image)
    texture.InterpolateOn()
    thing = plotter.add_mesh(plane, texture=texture, lighting=False)
    thing.visibility = False
    return thing


def _together(
    plotter: Any, camera: Camera, things: list[Any], shadow: Any | None
) -> tuple[Floats, Floats]:
    """All pictures from within a pixel and from over the lens as one.

    Returns
    -------
    colour : (rows, columns, 3) linear light of what there is, nothing being black
    cover : (rows, columns, 2) how much of each pixel things cover, and how dark the ground is
    """
    film = studio.film().astype(np.float32)
    plotter.set_background("black")
    _aim(plotter, camera)
    width, height = plotter.window_size
    colour = np.zeros((height, width, 3), np.float32)
    cover = np.zeros((height, width, 2), np.float32)
    samples = next(count for least, count in _SAMPLES if camera.lens >= least * camera.focus)
    weight = np.float32(_SHADOW_EVERY / 255.0)
    for index in range(samples):
        _shift(plotter, camera, index, samples)
        for thing in things:
            thing.visibility = True
        if shadow is not None:
            shadow.visibility = False
        levels = _shot(plotter)
        there = levels[:, :, 3:] > 127
        colour += film[levels[:, :, :3]] * there
        cover[:, :, :1] += there
        if shadow is not None and index % _SHADOW_EVERY == 0:
            for thing in things:
                thing.visibility = False
            shadow.visibility = True
            cover[:, :, 1] += weight * _shot(plotter)[:, :, 0]
    return colour[::-1] / samples, cover[::-1] / samples


def _shot(plotter: Any) -> Levels:
    """What is drawn, (rows, columns, 4); rows run up."""
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkCommonCore import vtkUnsignedCharArray

    window = plotter.render_window
    window.Render()
    width, height = window.GetSize()
    data = vtkUnsignedCharArray()
    window.GetRGBACharPixelData(0, 0, width - 1, height - 1, 0, data, 0)
    return np.asarray(vtk_to_numpy(data)).reshape(height, width, 4)


def _aim(plotter: Any, camera: Camera) -> None:
    plotter.camera.focal_point = camera.looks_at
    plotter.camera.position = camera.stands
    plotter.camera.up = (0.0, 0.0, 1.0)
    plotter.camera.view_angle = float(np.degrees(camera.opening))
    plotter.reset_camera_clipping_range()


def _shift(plotter: Any, camera: Camera, index: int, samples: int) -> None:
    """One of the many places of the lens, and of the picture within a pixel.

    Both go through low-discrepancy sequences (Roberts' R2, from memory): no two alike, evenly
    spread, and the same every time.
    """
    width, height = plotter.window_size
    inside = (0.5 + index * np.array([0.7548776662, 0.5698402910])) % 1.0 - 0.5
    right, up, _ = camera.sides
    # Sunflower: equal parts of the disc.
    radius = camera.lens * np.sqrt((index + 0.5) / samples)
    angle = index * np.pi * (3.0 - np.sqrt(5.0))
    across, along = radius * np.cos(angle), radius * np.sin(angle)
    offset = across * right + along * up
    plotter.camera.position = camera.stands + offset
    plotter.camera.focal_point = camera.looks_at + offset
    # The film is moved so that what is in focus stays where it is.
    half = camera.focus * np.tan(camera.opening / 2.0)
    ndc = -np.array([across / (half * width / height), along / half])
    ndc = ndc + 2.0 * inside / np.array([width, height])
    plotter.camera.SetWindowCenter(*ndc.tolist())


def _finished(colour: Floats, cover: Floats, background: str) -> Levels:
    """The still's levels: things over their shadow over the ground."""
    rows, columns = colour.shape[:2]
    solid, dark = cover[:, :, :1], cover[:, :, 1:]
    if background != studio.TRANSPARENT:
        ground = studio.ground(rows, columns, background)
        light = colour + (1.0 - solid) * (1.0 - dark) * ground
        alpha = np.ones((rows, columns, 1))
    else:
        alpha = solid + (1.0 - solid) * dark
        light = colour / np.maximum(alpha, 1e-6)
    shown = studio.encoded(np.clip(light, 0.0, 1.0))
    levels: Levels = np.rint(255.0 * np.concatenate([shown, alpha], axis=2)).astype(np.uint8)
    return levels


def _png(levels: Levels) -> bytes:
    from PIL import Image

    file = io.BytesIO()
    Image.fromarray(levels, "RGBA").save(file, "PNG", compress_level=1)
    return file.getvalue()
