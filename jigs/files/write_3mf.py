"""Printed parts as a 3MF file (3MF core specification 1): a package of XML with their meshes."""

from __future__ import annotations

import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from xml.sax.saxutils import quoteattr

if TYPE_CHECKING:
    import trimesh

# Packages hold a time for every file in them; always the same, so that equal parts give equal
# bytes. The first that the format can express.
_TIME = (1980, 1, 1, 0, 0, 0)
# Number of the first object; the list of materials has 1.
_FIRST = 2
_TYPES = """<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
"""
_RELATIONS = """<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Target="/3D/3dmodel.model" Id="model" \
Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
"""
_MODEL = """<?xml version="1.0" encoding="UTF-8"?>
<model unit="millimeter" xml:lang="en-US" \
xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">
<resources>
<basematerials id="1">{materials}</basematerials>
{objects}
</resources>
<build><item objectid="{built}"/></build>
</model>
"""
_OBJECT = """<object id="{id}" type="model" name={name} pid="1" pindex="{material}"><mesh>
<vertices>
{vertices}
</vertices>
<triangles>
{triangles}
</triangles>
</mesh></object>"""
_TOGETHER = """<object id="{id}" type="model" name={name}><components>
{components}
</components></object>"""


@dataclass(frozen=True, eq=False)
class Body:
    """A mesh in millimetres, its name, and its colour (sRGB, 0 to 1)."""

    mesh: trimesh.Trimesh
    name: str
    colour: tuple[float, float, float]


def write_3mf(
    bodies: Sequence[Body], path: Path, low_mm: Sequence[float] | None = None, name: str = ""
) -> None:
    """Write bodies as one object, moved so that nothing is below zero.

    Parameters
    ----------
    low_mm : what is moved to the origin instead of the bodies' own lowest corner, so that parts
        that are printed as one object keep their places to one another
    name : of the object that several bodies are put together to

    Raises
    ------
    OSError
        When the file cannot be written.
    """
    import numpy as np

    if low_mm is None:
        low_mm = np.min([body.mesh.bounds[0] for body in bodies], axis=0)
    objects = [_object(body, index, low_mm) for index, body in enumerate(bodies)]
    built = _FIRST
    if len(bodies) > 1:
        built = _FIRST + len(bodies)
        inside = [f'<component objectid="{_FIRST + index}"/>' for index in range(len(bodies))]
        objects.append(
            _TOGETHER.format(id=built, name=quoteattr(name), components="\n".join(inside))
        )
    model = _MODEL.format(
        materials="".join(
            f'<base name={quoteattr(body.name)} displaycolor="{_hex(body.colour)}"/>'
            for body in bodies
        ),
        objects="\n".join(objects),
        built=built,
    )
    with zipfile.ZipFile(path, "w") as package:
        for place, text in (
            ("[Content_Types].xml", _TYPES),
            ("_rels/.rels", _RELATIONS),
            ("3D/3dmodel.model", model),
        ):
            entry = zipfile.ZipInfo(place, _TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            package.writestr(entry, text)


def _object(body: Body, index: int, low_mm: Sequence[float]) -> str:
    corners = body.mesh.vertices - low_mm
    vertices = "\n".join(
        f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in corners.tolist()
    )
    triangles = "\n".join(
        f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in body.mesh.faces.tolist()
    )
    return _OBJECT.format(
        id=_FIRST + index,
        name=quoteattr(body.name),
        material=index,
        vertices=vertices,
        triangles=triangles,
    )


def _hex(colour: tuple[float, float, float]) -> str:
    return "#" + "".join(f"{round(255 * part):02X}" for part in colour)
