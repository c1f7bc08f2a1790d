"""Straight lines through a closed mesh: what a part measures across, and what lies beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ringwright.base.arrays import Floats, Ints

if TYPE_CHECKING:
    import cadquery as cq
    import trimesh


# Farthest the triangles lie from the true surface, and the largest angle between neighbours.
CHORD_MM = 0.01
CHORD_RAD = 0.12
# A ray starts this far below the surface, clear of the triangle it comes from.
_START_MM = 1e-4
# Two surfaces are sides of a wall where their normals are opposite to within this; where they
# meet at a wider angle they are the sides of an edge.
_OPPOSITE_DEG = 60.0
_SEED = 20


def mesh_of(shape: cq.Shape) -> trimesh.Trimesh:
    """A kernel shape as triangles, neighbours sharing their corners."""
    import trimesh

    # A copy: the kernel keeps triangles with faces, which other shapes may share.
    vertices, faces = shape.copy().tessellate(CHORD_MM, CHORD_RAD)
    points = np.array([vertex.toTuple() for vertex in vertices])
    return trimesh.Trimesh(points, np.array(faces), process=True)


@dataclass(frozen=True)
class Thinnest:
    """The least distance through a part: how much, and the point where it begins."""

    mm: float
    at_mm: tuple[float, float, float]


class Rays:
    """Rays through one mesh."""

    def __init__(self, mesh: trimesh.Trimesh) -> None:
        """Sort the triangles into a search tree."""
        from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
        from vtkmodules.vtkCommonCore import reference, vtkPoints
        from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData, vtkStaticCellLocator

        self.mesh = mesh
        self._normals = np.asarray(mesh.face_normals)
        points, cells, data = vtkPoints(), vtkCellArray(), vtkPolyData()
        points.SetData(numpy_to_vtk(np.ascontiguousarray(mesh.vertices), deep=True))
        threes = np.full((len(mesh.faces), 4), 3, dtype=np.int64)
        threes[:, 1:] = mesh.faces
        cells.ImportLegacyFormat(numpy_to_vtkIdTypeArray(threes.ravel(), deep=True))
        data.SetPoints(points)
        data.SetPolys(cells)
        self._tree: Any = vtkStaticCellLocator()
        self._tree.SetDataSet(data)
        self._tree.BuildLocator()
        self._data = data
        self._reach_mm = 2.0 * float(np.linalg.norm(mesh.extents))
        # What a call writes its answers to: share of the way, place, its parameters, part, cell.
        self._answer: tuple[Any, ...] = (
            reference(0.0),
            [0.0] * 3,
            [0.0] * 3,
            reference(0),
            reference(0),
        )

    def first(self, start: Floats, along: Floats) -> tuple[float, int]:
        """Distance to the first triangle that a ray meets, and which; infinite and -1 for none."""
        end = start + self._reach_mm * along
        if not self._tree.IntersectWithLine(start, end, 1e-9, *self._answer):
            return float("inf"), -1
        return float(self._answer[0]) * self._reach_mm, int(self._answer[4])

    def through(self, points: Floats, normals: Floats) -> tuple[Floats, Ints]:
        """How deep the part is below points of its surface, and the triangle on the far side."""
        found = [
            self.first(point, -normal)
            for point, normal in zip(points - _START_MM * normals, normals, strict=True)
        ]
        depths = np.array([depth for depth, _ in found]) + _START_MM
        return depths, np.array([cell for _, cell in found], dtype=np.intp)

    def walls(self, samples: int = 3000) -> tuple[Floats, Floats]:
        """Wall thicknesses at points all over the surface, and these points.

        The points are every triangle's middle and so many more, evenly over the area.
        """
        points, faces = surface_points(self.mesh, samples)
        normals = self._normals[faces]
        depths, far = self.through(points, normals)
        opposite = np.einsum("ij,ij->i", normals, self._normals[far])
        wall = (far >= 0) & (opposite < -np.cos(np.radians(_OPPOSITE_DEG)))
        return depths[wall], points[wall]

    def thinnest(self) -> Thinnest:
        """The thinnest wall found."""
        depths, points = self.walls()
        if not len(depths):
            # All faces meet at wide angles: there is no wall, only the part's own size.
            return Thinnest(float(self.mesh.extents.min()), (0.0, 0.0, 0.0))
        least = int(depths.argmin())
        x_mm, y_mm, z_mm = points[least].tolist()
        return Thinnest(float(depths[least]), (x_mm, y_mm, z_mm))

    def inside(self, point: Floats) -> bool:
        """Whether a point is in the material: the first surface above it faces up."""
        # Slightly off the vertical, so as not to run along walls.
        up = np.array([0.00137, 0.00071, 1.0])
        _, cell = self.first(point, up / np.linalg.norm(up))
        return cell >= 0 and float(self._normals[cell] @ up) > 0.0


def surface_points(mesh: trimesh.Trimesh, samples: int) -> tuple[Floats, Ints]:
    """Points on a mesh and the triangles they lie on: all middles, and an even seeded spread."""
    random = np.random.default_rng(_SEED)
    areas = np.asarray(mesh.area_faces)
    chosen = random.choice(len(areas), samples, p=areas / areas.sum())
    first, second = random.random((2, samples, 1))
    over = first + second > 1.0
    first, second = np.where(over, 1.0 - first, first), np.where(over, 1.0 - second, second)
    corners = np.asarray(mesh.triangles)
    a, b, c = (corners[chosen, corner] for corner in range(3))
    spread = a + first * (b - a) + second * (c - a)
    points: Floats = np.concatenate([corners.mean(axis=1), spread])
    return points, np.concatenate([np.arange(len(areas)), chosen]).astype(np.intp)
