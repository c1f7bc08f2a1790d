"""A piece as a STEP file: true tori, each ring by its name."""

from __future__ import annotations

import errno
import os
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any

from generator.looks import LOOKS
from generator.mesh import frames, ring_sizes

if TYPE_CHECKING:
    from generator.piece import Piece

_END = "END-ISO-10303-21;"
_STYLES = "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION("


def write_step(
    piece: Piece, path: Path, progress: Callable[[int, int], None] | None = None
) -> None:
    """Write every ring as a solid with one toroidal face, in millimetres.

    The file holds one solid for each ring size and role; every ring is that solid
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
        When the file cannot be written, also on a full disk, which the CAD kernel
        itself does not always report.
    """
    from cadquery.occ_impl.exporters.assembly import exportAssembly

    # Opened here first, since the kernel would not say why it cannot.
    Path(path).write_text("")
    assembly, titles = _assembly(piece, progress)
    with _quiet():
        written = exportAssembly(assembly, str(path))
    text = Path(path).read_text(encoding="utf-8")
    if not written or not text.rstrip().endswith(_END):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))
    Path(path).write_text(_normalised(text, titles), encoding="utf-8", newline="\n")


def _assembly(
    piece: Piece, progress: Callable[[int, int], None] | None
) -> tuple[Any, dict[str, str]]:
    """The assembly; and by the first ring of each solid, a title for that solid."""
    import cadquery as cq

    sizes = ring_sizes(piece)
    solids = [
        cq.Solid.makeTorus(float(core_mm), float(wire_mm))
        for core_mm, wire_mm in zip(sizes.core_radii_mm, sizes.wire_radii_mm, strict=True)
    ]
    assembly = cq.Assembly(name="piece")
    parts: dict[tuple[str, int], str] = {}
    turned = frames(piece.axes)
    for ring, (name, role) in enumerate(zip(piece.names, piece.roles, strict=True)):
        size = int(sizes.of_ring[ring])
        parts.setdefault((role, size), name)
        plane = cq.Plane(
            origin=tuple(piece.centres_mm[ring].tolist()),
            xDir=tuple(turned[ring, :, 0].tolist()),
            normal=tuple(piece.axes[ring].tolist()),
        )
        colour = cq.Color(*LOOKS[role].colour)
        assembly.add(solids[size], name=name, loc=cq.Location(plane), color=colour)
        if progress is not None:
            progress(ring + 1, len(piece))
    titles = {
        name: f"{role} ring {2 * (sizes.core_radii_mm[size] - sizes.wire_radii_mm[size]):.4g} mm "
        f"inside, {2 * sizes.wire_radii_mm[size]:.4g} mm wire"
        for (role, size), name in parts.items()
    }
    return assembly, titles


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the CAD kernel's remarks off standard output, which may be read as JSON."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:
        # Standard output is closed; there is nothing to keep clean.
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def _normalised(text: str, titles: dict[str, str]) -> str:
    """The file without what differs between two runs: date, counters, order of the colours."""
    # The kernel breaks long lines; where depends on how long its counters have grown.
    text = re.sub(r"\n {2,}", "", text)
    text = re.sub(
        r"FILE_NAME\(.*?\);\n",
        "FILE_NAME('piece','1970-01-01T00:00:00',(''),(''),'Open CASCADE','ringwright','');\n",
        text,
        count=1,
        flags=re.DOTALL,
    )
    number = count(1)
    text = re.sub(
        r"(?<== NEXT_ASSEMBLY_USAGE_OCCURRENCE\()'\d+'", lambda _: f"'{next(number)}'", text
    )
    # The kernel calls a shared solid after the ring that used it first.
    for name, title in titles.items():
        text = text.replace(f" = PRODUCT('{name}','{name}',", f" = PRODUCT('{title}','{title}',")
    start, end = text.index(_STYLES), text.rindex("ENDSEC;")
    start = text.rindex("\n", 0, start) + 1
    return text[:start] + _ordered(text[start:end]) + text[end:]


def _ordered(styles: str) -> str:
    """The colours, which close the file, in the order of the solids they belong to.

    The kernel keeps them in the order of memory addresses. Each begins with one entity whose
    last reference is into its solid; what that one refers to follows it.
    """
    bodies = {int(key): body for key, body in re.findall(r"^#(\d+) = (.*)$", styles, re.MULTILINE)}
    refers = {key: [int(to) for to in re.findall(r"#(\d+)", body)] for key, body in bodies.items()}
    waiting = sorted(
        (key for key, body in bodies.items() if body.startswith(_STYLES)),
        key=lambda key: refers[key][-1],
        reverse=True,
    )
    numbers: dict[int, int] = {}
    while waiting:
        key = waiting.pop()
        if key in bodies and key not in numbers:
            numbers[key] = min(bodies) + len(numbers)
            waiting += reversed(refers[key])

    def renumbered(match: re.Match[str]) -> str:
        key = int(match[1])
        return f"#{numbers.get(key, key)}"

    return "".join(re.sub(r"#(\d+)", renumbered, f"#{key} = {bodies[key]}\n") for key in numbers)
