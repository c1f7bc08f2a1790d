"""Jigs measured on the files that a maker prints from, read back from the disk."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cadquery as cq
import pytest
import trimesh

from jigs.jig import Jig
from jigs.jig_step import write_jig_step
from jigs.printability import JigCheck
from jigs.write_jig import write_stl


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


def same_in_step_and_stl(jig: Jig, checked: JigCheck, folder: Path) -> None:
    """Assert that every printed part has one volume and one size in both files, read back."""
    bodies = bodies_of_step(jig, folder)
    for place in jig.placed:
        mesh = checked.meshes.get(place.item)
        if mesh is not None:
            body = bodies[place.name]
            assert body.isValid()
            assert body.Volume() == pytest.approx(mesh.volume, rel=0.005)
            box = body.BoundingBox()
            sides = sorted((box.xlen, box.ylen, box.zlen))
            assert sides == pytest.approx(sorted(mesh.extents), abs=0.05)
