"""A jig's files: models, pictures, bill of materials, sheet and figures."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ringwright.base import defaults
from ringwright.base.files import WholeFiles
from ringwright.base.progress import Progress, quiet
from ringwright.base.terminal import wrapped
from ringwright.jigs.checks.printability import JigCheck, require_printable
from ringwright.jigs.files.jig_figures import Checked, JigFigures
from ringwright.jigs.files.jig_picture import drawn_places, write_jig_png
from ringwright.jigs.files.jig_step import write_jig_step
from ringwright.jigs.files.sheet import write_sheet
from ringwright.jigs.files.write_3mf import Body, write_3mf
from ringwright.jigs.parts.jig import Jig, Part
from ringwright.jigs.parts.printing import Printer
from ringwright.outputs.models.artist import Artist, PictureUnavailable
from ringwright.outputs.models.write_stl import write_triangles

if TYPE_CHECKING:
    from ringwright.answers.verdict import Report
    from ringwright.outputs.assembly_sheet.sheet import WrittenSheet


@dataclass(frozen=True, eq=False)
class WrittenJig:
    """A written jig.

    Attributes
    ----------
    files : kind (``step``, ``png``, ``materials``, ``sheet``, ``json``, and ``stl`` and ``3mf``
        with the part's name; ``apart_png`` where it comes apart; ``3mf together`` of parts that
        are printed as one object; ``steps`` with a kind of an assembly sheet) to path; None for
        pictures that could not be drawn
    no_picture : why there are none, or None
    """

    checked: JigCheck
    files: dict[str, str | None]
    facts: dict[str, Any]
    no_picture: str | None


def write_jig(
    jig: Jig,
    printer: Printer,
    folder: Path,
    name: str,
    on_progress: Progress = quiet,
) -> WrittenJig:
    """Check a jig and write all of its files, or none.

    Only the pictures may be missing, where the system cannot draw.

    Raises
    ------
    BadInput
        When the jig fails its own check, or the files cannot be written.
    """
    steps = ("check", "models", "pictures", "sheet", "lesson")[: 4 + (jig.lesson is not None)]

    def step(what: str) -> None:
        on_progress(what, steps.index(what), len(steps))

    step("check")
    checked = require_printable(jig, printer)
    names = _names(jig, name)
    files: dict[str, str | None] = {kind: str(folder / file) for kind, file in names.items()}
    no_picture = None
    with WholeFiles(folder) as batch:
        step("models")
        step_path = batch.new(names["step"])
        write_jig_step(jig, step_path)
        joined = _joined(jig)
        for part in jig.parts:
            mesh = checked.meshes[part.name]
            write_stl(mesh, batch.new(names[f"stl {part.name}"]))
            path = batch.new(names[f"3mf {part.name}"])
            low_mm = low_corner_mm(joined if part in joined else [part], checked)
            write_3mf([_body(part, checked)], path, low_mm)
        if joined:
            bodies = [_body(part, checked) for part in joined]
            write_3mf(bodies, batch.new(names["3mf together"]), name=jig.title)
        step("pictures")
        kinds = [kind for kind in ("png", "apart_png") if kind in names]
        places = drawn_places(jig)
        pictures = []
        try:
            for kind in kinds:
                pictures.append(batch.new(names[kind]))
                write_jig_png(jig, places, pictures[-1], apart=kind == "apart_png")
        except PictureUnavailable as reason:
            for kind in kinds[: len(pictures)]:
                batch.drop(names[kind])
            files |= dict.fromkeys(kinds)
            pictures, no_picture = [], str(reason)
        step("sheet")
        write_sheet(jig, checked, printer, pictures, batch.new(names["sheet"]))
        _write_materials(jig, checked, batch.new(names["materials"]))
        if jig.lesson is not None:
            step("lesson")
            lesson = _write_lesson(jig.lesson, folder, f"{name}-steps")
            files |= {f"steps {kind}": path for kind, path in lesson.files.items()}
            no_picture = no_picture or lesson.no_picture
        facts = JigFigures.of(Checked(jig, checked, printer, files)).facts()
        text = json.dumps(facts, ensure_ascii=False, indent=1, allow_nan=False)
        batch.new(names["json"]).write_text(text + "\n", encoding="utf-8", newline="\n")
    on_progress(steps[-1], len(steps), len(steps))
    return WrittenJig(checked, files, facts, no_picture)


def jig_text(written: WrittenJig, jig: Jig) -> str:
    """The same in a few lines for a person."""
    lines = [jig.title, ""]
    for part in written.checked.parts:
        size = " x ".join(f"{each:.1f}" for each in part.size_mm)
        lines.append(
            f"  {part.count} x {part.name}: {size} mm, thinnest wall {part.wall.mm:.2f} mm, "
            f"about {part.grams:.0f} g and {part.minutes:.0f} min each"
        )
    lines += [f"  {item.count} x {item.name} {item.standard}".rstrip() for item in jig.bought]
    lines += ["", "Cautions", *_bullets(jig.cautions), "", "Remarks", *_bullets(jig.remarks)]
    lines += ["", "Written", *(f"  {path}" for path in written.files.values() if path)]
    return "\n".join(lines)


def _bullets(said: Sequence[str]) -> list[str]:
    """A paragraph for each sentence, as wide as a terminal."""
    return [row for each in said for row in wrapped(each, "  - ", "    ")]


def _names(jig: Jig, name: str) -> dict[str, str]:
    """Kind of file to its name."""
    names = {
        "step": f"{name}.step",
        "png": f"{name}.png",
        "materials": f"{name}-materials.csv",
        "sheet": f"{name}.pdf",
        "json": f"{name}.json",
    }
    # What does not come apart would be drawn twice.
    if len({place.apart_mm for place in jig.placed}) > 1:
        names["apart_png"] = f"{name}-apart.png"
    for part in jig.parts:
        names[f"stl {part.name}"] = f"{name}-{part.name}.stl"
        names[f"3mf {part.name}"] = f"{name}-{part.name}.3mf"
    if _joined(jig):
        names["3mf together"] = f"{name}-together.3mf"
    return names


def _joined(jig: Jig) -> list[Part]:
    """The parts that are printed as one object, where there are several."""
    parts = [part for part in jig.parts if part.together is not None]
    return parts if len(parts) > 1 else []


def _body(part: Part, checked: JigCheck) -> Body:
    return Body(checked.meshes[part.name], part.name, part.colour)


def _write_lesson(report: Report, folder: Path, name: str) -> WrittenSheet:
    """The assembly sheet by role; last of all, for its files appear at once."""
    from ringwright.outputs.assembly_sheet.sheet import ARTIST, write_assembly

    with Artist(ARTIST) as artist:
        return write_assembly(report, folder, name, defaults.PAPER, artist, by_role=True)


def low_corner_mm(parts: Sequence[Part], checked: JigCheck) -> list[float]:
    """The lowest corner of all that is printed as one object."""
    lows = [checked.meshes[part.name].bounds[0].tolist() for part in parts]
    return [min(axis) for axis in zip(*lows, strict=True)]


def write_stl(mesh: Any, path: Path) -> None:
    """Write a part's mesh as binary STL, in millimetres as it lies on the print bed."""
    write_triangles(path, len(mesh.faces), [(mesh.triangles, mesh.face_normals)])


def _write_materials(jig: Jig, checked: JigCheck, path: Path) -> None:
    """The bill of materials as a table for a spreadsheet."""
    with open(path, "w", encoding="utf-8", newline="") as file:
        table = csv.writer(file)
        table.writerow(["count", "item", "standard", "made", "grams each", "note"])
        for part, found in zip(jig.parts, checked.parts, strict=True):
            table.writerow([found.count, part.name, "", "printed", f"{found.grams:.1f}", part.note])
        for item in jig.bought:
            table.writerow([item.count, item.name, item.standard, "bought", "", item.note])
