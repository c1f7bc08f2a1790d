"""A piece as a STEP file (ISO 10303-21, application protocol 214): true tori, named rings.

Written as text, without the CAD kernel: one toroidal face needs only some
seventy entities, the kernel takes seconds to load and cannot be loaded at all
on a computer without graphics libraries, and its files hold the time of day.
The tests read the files back with the kernel.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ringwright.base.progress import Tally, uncounted
from ringwright.colour.looks import look_of
from ringwright.piece.mesh import frames, ring_sizes

if TYPE_CHECKING:
    from ringwright.piece.piece import Piece

_HEADER = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION(('jump rings'),'2;1');
FILE_NAME('piece','1970-01-01T00:00:00',(''),(''),'ringwright','ringwright','');
FILE_SCHEMA(('AUTOMOTIVE_DESIGN {{ 1 0 10303 214 1 1 1 1 }}'));
ENDSEC;
DATA;
{entities}
ENDSEC;
END-ISO-10303-21;
"""
_FULL_TURN = 2 * np.pi


def write_step(piece: Piece, path: Path, progress: Tally = uncounted) -> None:
    """Write every ring as a solid with one toroidal face, in millimetres.

    The file holds one solid for each ring size and role (or metal); every ring is that solid
    in another place, under the ring's own name. The colour belongs to the solid, which all
    programs read, rather than to the place, which few do.

    Parameters
    ----------
    piece : the rings
    path : the file; an older one is overwritten
    progress : called with (rings placed, all rings)

    Raises
    ------
    OSError
        When the file cannot be written.
    """
    entities = _Entities()
    root = _Assembly(entities)
    sizes = ring_sizes(piece)
    parts: dict[tuple[int, str], _Part] = {}
    for done, (name, paint, size, centre, frame) in enumerate(
        zip(
            piece.names,
            piece.paints,
            sizes.of_ring.tolist(),
            piece.centres_mm.tolist(),
            frames(piece.axes).tolist(),
            strict=True,
        ),
        start=1,
    ):
        if (size, paint) not in parts:
            core, wire = float(sizes.core_radii_mm[size]), float(sizes.wire_radii_mm[size])
            parts[size, paint] = _Part(entities, root, paint, core, wire)
        z, x = [row[2] for row in frame], [row[0] for row in frame]
        root.place(parts[size, paint], name, entities.frame(centre, z, x))
        progress(done, len(piece))
    root.close()
    text = _HEADER.format(entities="\n".join(entities.lines))
    Path(path).write_text(text, encoding="ascii", newline="\n")


class _Entities:
    """The entities of a STEP file so far, numbered as they come."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def add(self, text: str) -> str:
        """Add an entity; the reference to it."""
        name = f"#{len(self.lines) + 1}"
        self.lines.append(f"{name}={text};")
        return name

    def reserve(self) -> tuple[str, int]:
        """A reference to an entity that is written later, with :meth:`fill`."""
        self.lines.append("")
        return f"#{len(self.lines)}", len(self.lines) - 1

    def fill(self, place: int, text: str) -> None:
        """Write a reserved entity."""
        self.lines[place] = f"#{place + 1}={text};"

    def point(self, *at: float) -> str:
        """A point, in millimetres or in the two parameters of a surface."""
        return self.add(f"CARTESIAN_POINT('',{_reals(at)})")

    def direction(self, *along: float) -> str:
        """A direction."""
        return self.add(f"DIRECTION('',{_reals(along)})")

    def frame(self, at: Iterable[float], z: Iterable[float], x: Iterable[float]) -> str:
        """A place with its z and x directions."""
        parts = self.point(*at), self.direction(*z), self.direction(*x)
        return self.add(f"AXIS2_PLACEMENT_3D('',{','.join(parts)})")


def _reals(values: Iterable[float]) -> str:
    return f"({','.join(_real(value) for value in values)})"


def _real(value: float) -> str:
    """A number as STEP writes it: with a point, also before an exponent."""
    # Fifteen digits read back within the last bit or two; zero has no sign.
    mantissa, mark, exponent = f"{value + 0.0:.15G}".partition("E")
    return (mantissa if "." in mantissa else mantissa + ".") + mark + exponent


def _quoted(text: str) -> str:
    """Text in quotes; the names of rings, roles and metals hold nothing that needs more."""
    return "'" + text.replace("\\", "\\\\").replace("'", "''") + "'"


class _Assembly:
    """The whole piece: the product that every ring is placed in."""

    def __init__(self, entities: _Entities) -> None:
        self.entities = entities
        add = entities.add
        self.context = add(
            "APPLICATION_CONTEXT('core data for automotive mechanical design processes')"
        )
        add(
            "APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,"
            f"{self.context})"
        )
        self.units = _units(entities)
        self.origin = entities.frame((0, 0, 0), (0, 0, 1), (1, 0, 0))
        self.places = [self.origin]
        self.product = _product(self, "piece")
        self.shape, self._shape_place = entities.reserve()
        add(f"SHAPE_DEFINITION_REPRESENTATION({self._defined()},{self.shape})")

    def _defined(self) -> str:
        return self.entities.add(f"PRODUCT_DEFINITION_SHAPE('','',{self.product})")

    def place(self, part: _Part, name: str, frame: str) -> None:
        """Put a part in a place, under a name."""
        add = self.entities.add
        self.places.append(frame)
        number = len(self.places) - 1
        use = add(
            f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('{number}',{_quoted(name)},'',"
            f"{self.product},{part.product},$)"
        )
        placed = add(f"PRODUCT_DEFINITION_SHAPE('Placement','Placement of an item',{use})")
        move = add(f"ITEM_DEFINED_TRANSFORMATION('','',{self.origin},{frame})")
        relation = add(
            f"(REPRESENTATION_RELATIONSHIP('','',{part.shape},{self.shape})"
            f"REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION({move})"
            "SHAPE_REPRESENTATION_RELATIONSHIP())"
        )
        add(f"CONTEXT_DEPENDENT_SHAPE_REPRESENTATION({relation},{placed})")

    def close(self) -> None:
        """List all places in the piece's own shape, now that they are known."""
        places = ",".join(self.places)
        self.entities.fill(self._shape_place, f"SHAPE_REPRESENTATION('',({places}),{self.units})")


def _product(root: _Assembly, name: str) -> str:
    """A product's definition, with all that belongs to one."""
    add = root.entities.add
    context = add(f"PRODUCT_CONTEXT('',{root.context},'mechanical')")
    item = add(f"PRODUCT({_quoted(name)},{_quoted(name)},'',({context}))")
    add(f"PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,({item}))")
    version = add(f"PRODUCT_DEFINITION_FORMATION('','',{item})")
    design = add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{root.context},'design')")
    return add(f"PRODUCT_DEFINITION('design','',{version},{design})")


def _units(entities: _Entities) -> str:
    """Millimetres, radians, and a ten-millionth of a millimetre as accuracy."""
    length = entities.add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))")
    angle = entities.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
    solid = entities.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
    accuracy = entities.add(
        f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-07),{length},"
        "'distance_accuracy_value','confusion accuracy')"
    )
    return entities.add(
        "(GEOMETRIC_REPRESENTATION_CONTEXT(3)"
        f"GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({accuracy}))"
        f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({length},{angle},{solid}))"
        "REPRESENTATION_CONTEXT('','3D'))"
    )


class _Part:
    """A ring of one size and paint: its solid, lying in the plane z = 0 about the origin."""

    def __init__(
        self, entities: _Entities, root: _Assembly, paint: str, core: float, wire: float
    ) -> None:
        add = entities.add
        inner, thick = 2 * (core - wire), 2 * wire
        self.product = _product(root, f"{paint} ring {inner:.4g} mm inside, {thick:.4g} mm wire")
        solid = _torus(entities, core, wire)
        self.shape = add(
            f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({root.origin},{solid}),{root.units})"
        )
        defined = add(f"PRODUCT_DEFINITION_SHAPE('','',{self.product})")
        add(f"SHAPE_DEFINITION_REPRESENTATION({defined},{self.shape})")
        self._paint(entities, root, solid, paint)

    @staticmethod
    def _paint(entities: _Entities, root: _Assembly, solid: str, paint: str) -> None:
        add = entities.add
        red, green, blue = (_real(part) for part in look_of(paint).colour)
        colour = add(f"COLOUR_RGB({_quoted(paint)},{red},{green},{blue})")
        paint = add(f"FILL_AREA_STYLE_COLOUR('',{colour})")
        fill = add(f"FILL_AREA_STYLE('',({paint}))")
        area = add(f"SURFACE_STYLE_FILL_AREA({fill})")
        side = add(f"SURFACE_SIDE_STYLE('',({area}))")
        use = add(f"SURFACE_STYLE_USAGE(.BOTH.,{side})")
        style = add(f"PRESENTATION_STYLE_ASSIGNMENT(({use}))")
        item = add(f"STYLED_ITEM('colour',({style}),{solid})")
        add(f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',({item}),{root.units})")


def _torus(entities: _Entities, core: float, wire: float) -> str:
    """A solid torus: one face that closes on itself along two seams through one vertex."""
    add = entities.add
    place = entities.frame((0, 0, 0), (0, 0, 1), (1, 0, 0))
    surface = add(f"TOROIDAL_SURFACE('',{place},{_real(core)},{_real(wire)})")
    vertex = add(f"VERTEX_POINT('',{entities.point(core + wire, 0, 0)})")
    outline = entities.frame((0, 0, 0), (0, 0, 1), (1, 0, 0))
    around = _seam(
        entities, surface, vertex, (outline, core + wire), ((0, _FULL_TURN), (0, 0)), (1, 0)
    )
    section = entities.frame((core, 0, 0), (0, -1, 0), (1, 0, 0))
    across = _seam(entities, surface, vertex, (section, wire), ((_FULL_TURN, 0), (0, 0)), (0, 1))
    edges = [
        add(f"ORIENTED_EDGE('',*,*,{edge},{sense})")
        for edge, sense in ((around, ".F."), (across, ".F."), (around, ".T."), (across, ".T."))
    ]
    loop = add(f"EDGE_LOOP('',({','.join(edges)}))")
    bound = add(f"FACE_BOUND('',{loop},.T.)")
    face = add(f"ADVANCED_FACE('',({bound}),{surface},.T.)")
    shell = add(f"CLOSED_SHELL('',({face}))")
    return add(f"MANIFOLD_SOLID_BREP('',{shell})")


def _seam(
    entities: _Entities,
    surface: str,
    vertex: str,
    circle: tuple[str, float],
    starts: tuple[tuple[float, float], ...],
    along: tuple[float, float],
) -> str:
    """A full circle on the torus where its face meets itself.

    In the surface's two angles the circle is a straight line; as a seam it is two of
    them, a full turn apart, that begin at ``starts`` and run ``along``.
    """
    add = entities.add
    curve = add(f"CIRCLE('',{circle[0]},{_real(circle[1])})")
    lines = []
    for start in starts:
        vector = add(f"VECTOR('',{entities.direction(*along)},1.)")
        line = add(f"LINE('',{entities.point(*start)},{vector})")
        flat = add(
            "(GEOMETRIC_REPRESENTATION_CONTEXT(2)PARAMETRIC_REPRESENTATION_CONTEXT()"
            "REPRESENTATION_CONTEXT('2D SPACE',''))"
        )
        drawn = add(f"DEFINITIONAL_REPRESENTATION('',({line}),{flat})")
        lines.append(add(f"PCURVE('',{surface},{drawn})"))
    seam = add(f"SEAM_CURVE('',{curve},({','.join(lines)}),.PCURVE_S1.)")
    return add(f"EDGE_CURVE('',{vertex},{vertex},{seam},.T.)")
