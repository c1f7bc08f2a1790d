"""Jigs measured on the files that a maker prints from, read back from the disk."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
import trimesh

from ringwright.jigs.checks.printability import JigCheck
from ringwright.jigs.files.jig_step import write_jig_step
from ringwright.jigs.files.write_jig import write_stl
from ringwright.jigs.parts.jig import Jig, Part, on_the_bed


def as_written(checked: JigCheck, folder: Path) -> JigCheck:
    """The check of a jig with the meshes of its STL files in place of those in memory."""
    meshes = {}
    for name, mesh in checked.meshes.items():
        path = folder / f"{name}.stl"
        write_stl(mesh, path)
        meshes[name] = trimesh.load_mesh(path)
        assert meshes[name].is_watertight
    return replace(checked, meshes=meshes)


def bodies_of_step(jig: Jig, folder: Path) -> dict[str, cq.Shape]:
    """The solids of a jig's STEP file by name, where they stand in the assembly."""
    path = folder / "jig.step"
    write_jig_step(jig, path)
    read = cq.Assembly.importStep(str(path))
    return {child.name: child.obj.moved(child.loc) for child in read.children}


def bed_point(part: Part, at: tuple[float, float, float]) -> np.ndarray:
    """Where a point of a part's own frame lies in its STL file."""
    return np.array(on_the_bed(part, cq.Vertex.makeVertex(*at)).toTuple())


def nearest_mm(mesh: trimesh.Trimesh, part: Part, at: tuple[float, float, float]) -> float:
    """From an upright line through a point of the part's frame to the plastic around it there."""
    point = bed_point(part, at)
    cut = trimesh.intersections.mesh_plane(mesh, [0, 0, 1], point)[:, :, :2] - point[:2]
    start, way = cut[:, 0], cut[:, 1] - cut[:, 0]
    long = np.maximum(np.einsum("ij,ij->i", way, way), 1e-18)
    share = np.clip(-np.einsum("ij,ij->i", start, way) / long, 0.0, 1.0)
    return float(np.linalg.norm(start + share[:, None] * way, axis=1).min())


def same_in_step_and_stl(jig: Jig, checked: JigCheck, folder: Path) -> None:
    """Assert that every printed part has one volume and one size in both files, read back."""
    same_bodies(jig, checked, bodies_of_step(jig, folder))


def same_bodies(jig: Jig, checked: JigCheck, bodies: dict[str, cq.Shape]) -> None:
    """The same, of a STEP file that was read already."""
    for place in jig.placed:
        mesh = checked.meshes.get(place.item)
        if mesh is not None:
            body = bodies[place.name]
            assert body.isValid()
            assert body.Volume() == pytest.approx(mesh.volume, rel=0.005)
            box = body.BoundingBox()
            sides = sorted((box.xlen, box.ylen, box.zlen))
            assert sides == pytest.approx(sorted(mesh.extents), abs=0.05)
