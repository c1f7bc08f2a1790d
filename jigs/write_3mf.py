"""A printed part as a 3MF file (3MF core specification 1): a package of XML with one mesh."""

from __future__ import annotations

import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING
from xml.sax.saxutils import quoteattr

if TYPE_CHECKING:
    import trimesh

# Packages hold a time for every file in them; always the same, so that equal parts give equal
# bytes. The first that the format can express.
_TIME = (1980, 1, 1, 0, 0, 0)
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
<basematerials id="1"><base name={name} displaycolor="{colour}"/></basematerials>
<object id="2" type="model" name={name} pid="1" pindex="0"><mesh>
<vertices>
{vertices}
</vertices>
<triangles>
{triangles}
</triangles>
</mesh></object>
</resources>
<build><item objectid="2"/></build>
</model>
"""


def write_3mf(
    mesh: trimesh.Trimesh,
    name: str,
    colour: tuple[float, float, float],
    path: Path,
    low_mm: Sequence[float] | None = None,
) -> None:
    """Write a mesh in millimetres, moved so that nothing is below zero, under a name.

    Parameters
    ----------
    low_mm : what is moved to the origin instead of the mesh's own lowest corner, so that parts
        that are printed as one object keep their places to one another

    Raises
    ------
    OSError
        When the file cannot be written.
    """
    corners = mesh.vertices - (mesh.bounds[0] if low_mm is None else low_mm)
    vertices = "\n".join(
        f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in corners.tolist()
    )
    triangles = "\n".join(
        f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces.tolist()
    )
    levels = "".join(f"{round(255 * part):02X}" for part in colour)
    model = _MODEL.format(
        name=quoteattr(name), colour=f"#{levels}", vertices=vertices, triangles=triangles
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
