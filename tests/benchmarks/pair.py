"""The distance of two circles: this package, the CAD kernel's edges, the CAD kernel's solids."""

from __future__ import annotations

import sys
from functools import partial

import cadquery as cq
import numpy as np

from ringwright.geometry import speed
from ringwright.geometry.circles import distance_minima, nearest_on_circle, plane_basis
from tests.benchmarks.timing import median_seconds, told


def main() -> None:
    """Print times for one pair, the ratios, and how far the answers are apart."""
    quick = "--quick" in sys.argv
    repeats = 3 if quick else 9
    pairs = random_pairs(2_000 if quick else 20_000)
    count = len(pairs[2])
    edges = [cad_edges(pairs, row) for row in range(50 if quick else 400)]
    solids = [cad_solids(pairs, row) for row in range(3 if quick else 10)]
    edge = median_seconds(lambda: [a.distance(b) for a, b in edges], min(repeats, 5)) / len(edges)
    solid = median_seconds(lambda: [a.distance(b) for a, b in solids], 1) / len(solids)
    print(f"CAD kernel, edge to edge     {told(edge)} a pair, {len(edges)} pairs")
    print(f"CAD kernel, solid to solid   {told(solid)} a pair, {len(solids)} pairs")
    found = {}
    for name, loops in (("NumPy", None), ("compiled", speed.load())):
        if name == "compiled" and loops is None:
            print("compiled loops: not available here")
            continue
        with speed.using(loops):
            found[name] = distance_minima(*pairs)
            own = median_seconds(lambda: distance_minima(*pairs), repeats) / count
            print(
                f"all minima, {name:8}         {told(own)} a pair, {count} pairs: "
                f"edges take {edge / own:,.0f} times as long, solids {solid / own:,.0f}"
            )
            for few in (1, 30, 100):
                some = [array[:few] for array in pairs]
                call = median_seconds(partial(distance_minima, *some), 20 * repeats)
                print(f"    one call for {few:3} pairs     {told(call)}")
    print_accuracy(found, pairs, edges)


def random_pairs(count: int) -> list[np.ndarray]:
    """Arrays for ``distance_minima``: circles of about one size at random places."""
    random = np.random.default_rng(7)
    normals = random.normal(size=(2, count, 3))
    normals /= np.linalg.norm(normals, axis=2, keepdims=True)
    centres = random.normal(size=(2, count, 3))
    radii = random.uniform(0.6, 1.4, size=(2, count))
    return [centres[0], normals[0], radii[0], centres[1], normals[1], radii[1]]


def cad_edges(pairs, row):
    """The two circles of a row as edges of the CAD kernel."""
    ca, na, ra, cb, nb, rb = (array[row] for array in pairs)
    return (
        cq.Edge.makeCircle(ra, cq.Vector(*ca), cq.Vector(*na)),
        cq.Edge.makeCircle(rb, cq.Vector(*cb), cq.Vector(*nb)),
    )


def cad_solids(pairs, row):
    """Thin tori about the two circles of a row, as solids of the CAD kernel."""
    ca, na, ra, cb, nb, rb = (array[row] for array in pairs)
    return (
        cq.Solid.makeTorus(ra, 0.01, cq.Vector(*ca), cq.Vector(*na)),
        cq.Solid.makeTorus(rb, 0.01, cq.Vector(*cb), cq.Vector(*nb)),
    )


def print_accuracy(found, pairs, edges) -> None:
    """How far smallest distances are from a fine search's, and from the CAD kernel's."""
    some = [array[:2_000] for array in pairs]
    searched = searched_distance(some)
    for name, minima in found.items():
        least = np.full(len(pairs[2]), np.inf)
        np.minimum.at(least, minima.pair, minima.distance)
        off = np.abs(least[: len(searched)] - searched).max()
        cad = np.array([a.distance(b) for a, b in edges])
        off_cad = np.abs(least[: len(edges)] - cad).max()
        print(f"largest difference, {name}: {off:.1e} from a fine search, {off_cad:.1e} from edges")
    if len(found) == 2:
        one, two = found.values()
        fields = ("pair", "distance", "point_a", "point_b")
        same = all(np.array_equal(getattr(one, f), getattr(two, f)) for f in fields)
        print(f"compiled and NumPy agree to the last bit: {'yes' if same else 'NO'}")


def searched_distance(pairs) -> np.ndarray:
    """Smallest distances by sampling the first circle ever more finely about its best angle."""
    a, b = pairs[:3], pairs[3:]
    u, v = plane_basis(a[1])

    def distance(angle):
        spoke = np.cos(angle)[..., None] * u + np.sin(angle)[..., None] * v
        points = a[0] + a[2][:, None] * spoke
        return np.linalg.norm(points - nearest_on_circle(points, *b), axis=-1)

    width = 2 * np.pi / 3_000
    best = np.zeros(len(a[2]))
    least = np.full(len(a[2]), np.inf)
    for angle in np.arange(3_000) * width:
        now = distance(np.full(len(best), angle))
        best, least = np.where(now < least, angle, best), np.minimum(now, least)
    while width > 1e-8:
        angles = best + width * np.linspace(-1.0, 1.0, 21)[:, None]
        best = np.take_along_axis(angles, distance(angles).argmin(axis=0)[None], 0)[0]
        width /= 8.0
    return distance(best)


if __name__ == "__main__":
    main()
