"""An assembly sheet: worked out, drawn and written, all of its files or none."""

from __future__ import annotations

import io
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ringwright.answers.second_figures import said_rings
from ringwright.answers.verdict import Report
from ringwright.base.files import WholeFiles
from ringwright.base.progress import Progress, quiet
from ringwright.base.sizes import format_mm
from ringwright.base.terminal import wrapped
from ringwright.movement.order import woven
from ringwright.outputs.assembly_sheet import words
from ringwright.outputs.assembly_sheet.animation import write_animation
from ringwright.outputs.assembly_sheet.come_in import coming_in
from ringwright.outputs.assembly_sheet.draw import sent
from ringwright.outputs.assembly_sheet.labels import labelled, labels
from ringwright.outputs.assembly_sheet.lay import lay_notes
from ringwright.outputs.assembly_sheet.paper import Card, Sheet, write_pdf
from ringwright.outputs.assembly_sheet.sheet_figures import (
    MorePicture,
    SheetFigures,
    SheetParts,
    Stepped,
    looks_of,
    step_numbers,
    way_words,
    whole_numbers,
)
from ringwright.outputs.assembly_sheet.tapered import TITLE as TAPER_TITLE
from ringwright.outputs.assembly_sheet.tapered import tapered
from ringwright.outputs.assembly_sheet.views import (
    View,
    clasp_view,
    finished_view,
    from_better_sides,
    laid_view,
    scenes,
    views,
    whole_view,
)
from ringwright.outputs.models.artist import TIME_LIMIT_S, Artist, PictureUnavailable
from ringwright.piece.half_made import (
    CLASP,
    CLASP_RING,
    HalfMade,
    half_made,
    lies_on_table,
    with_bar_rings,
    with_clasp,
)
from ringwright.piece.piece import woven_piece
from ringwright.rest.laid import laid
from ringwright.rest.on_body import snug
from ringwright.solver.climb import Unit
from ringwright.weaves.rest_states import PULLED, RestState
from ringwright.weaves.rule import RingRef, WeaveRule

ARTIST = "ringwright.outputs.assembly_sheet.draw"
PIXELS = 640
# Many pictures take the drawing process longer than one.
_PICTURE_S = 15.0
# The finished piece is shown in so many repeats and rows at least, about so many core radii long.
_FEWEST_LAID, _LONG_LAID = 3, 14.0
# What the picture of the clasp's step is called.
_CLASP = "clasp"
# And what that of an end that gets narrower is.
_TAPER = "taper"
# And that of the finished piece in a state.
_LAID = "laid"


@dataclass(frozen=True, eq=False)
class WrittenSheet:
    """A written sheet.

    Attributes
    ----------
    files : kind (``pdf``, ``glb``, ``json``, ``png 0`` and so on by the step) to path
    figures : what the JSON file holds
    no_picture : why there are no pictures, or None
    """

    files: dict[str, str]
    figures: SheetFigures
    no_picture: str | None


def write_assembly(
    report: Report,
    folder: Path,
    name: str,
    paper: str,
    artist: Artist,
    on_progress: Progress = quiet,
    by_role: bool = False,
    state: RestState = PULLED,
) -> WrittenSheet:
    """Work out how a weave is put together and write its sheet.

    Only the pictures may be missing, where the system cannot draw.

    Parameters
    ----------
    report : of a size that can be woven
    folder, name : the files are ``folder/name.pdf``, ``.json`` and ``name-00.png`` on
    paper : a name in ``PAPERS`` of ``base/paper``
    artist : of the module ``ARTIST``
    on_progress : called with (what, done, of)
    by_role : whether rings look by their role, as in a printed sample, not by the step
    state : that the finished piece is shown in besides; none where it is pulled straight

    Raises
    ------
    BadInput
        When the files cannot be written.
    NoRest
        When the finished piece does not come to rest so.
    """
    rule, size = report.rule, report.size
    states = _states(report, on_progress)
    numbers = words.numbered(rule)
    lay = lay_notes(rule, states, numbers)
    lines = words.lines(rule, lay)
    made = scenes(rule, states, numbers, size.core_radius_mm, lay)
    straight = views(rule, made)
    shown = from_better_sides(rule, straight)
    roles = ring_roles(rule) if by_role else None
    more = _more(rule, report.unit, states, straight, size.core_radius_mm)
    if state != PULLED:
        more.append(_laid(report, state, shown[0], on_progress))
    if roles is not None:
        for each in more:
            if each.name in (_TAPER, _LAID):
                piece = each.view.piece
                roles |= dict(zip(piece.names, piece.roles, strict=True))
    drawn = [*shown, *(each.view for each in more)]
    artist.begin(sent(drawn, PIXELS, roles))
    marks = []
    for done, view in enumerate(drawn):
        on_progress("pictures", done, len(drawn) + 1)
        marks.append(labels(view))
    motions = coming_in(made, lambda done, of: on_progress("ways in", done, of))
    no_picture = None
    pictures: Sequence[bytes | None]
    try:
        limit_s = TIME_LIMIT_S + _PICTURE_S * len(drawn)
        pictures = _cut(artist.picture(limit_s), drawn, marks, roles)
    except PictureUnavailable as reason:
        pictures, no_picture = [None] * len(drawn), str(reason)
    on_progress("pictures", len(drawn) + 1, len(drawn) + 1)

    drawn_so = [words.as_drawn(view.scene.at_rest, view.room_mm, view.aside) for view in drawn]
    notes = list(drawn_so)
    for at, (scene, way) in enumerate(zip(made, motions, strict=True)):
        if scene.new is not None:
            notes[at] = f"{way_words(way)} {notes[at]}".rstrip()
    sheet = _sheet(rule, report, lines, pictures, more, notes, roles)
    files = {kind: f"{name}.{kind}" for kind in ("pdf", "glb", "json")}
    called = [f"{step:02}" for step in step_numbers(lines)] + [each.name for each in more]
    kinds = [str(step) for step in step_numbers(lines)] + [each.name for each in more]
    if no_picture is None:
        for kind, ending in zip(kinds, called, strict=True):
            files[f"png {kind}"] = f"{name}-{ending}.png"
    with WholeFiles(folder) as batch:
        for kind, picture in zip(kinds, pictures, strict=True):
            if picture is not None:
                batch.new(files[f"png {kind}"]).write_bytes(picture)
        write_pdf(sheet, batch.new(files["pdf"]), paper)
        write_animation(shown, batch.new(files["glb"]), roles=roles, motions=motions)
        paths = {kind: str(folder / file) for kind, file in files.items()}
        clasp_shown = any(each.name == _CLASP for each in more)
        said = zip(step_numbers(lines), lines, drawn_so[: len(lines)], motions, strict=True)
        steps = [Stepped(rule, number, line, roles, note, way) for number, line, note, way in said]
        besides = [
            MorePicture(each.name, each.title, each.text, each.alt, note)
            for each, note in zip(more, drawn_so[len(lines) :], strict=True)
        ]
        figures = SheetFigures.of(
            SheetParts(report, states, roles, steps, besides, clasp_shown, paths)
        )
        facts = figures.facts()
        text = json.dumps(facts, ensure_ascii=False, indent=1, allow_nan=False)
        batch.new(files["json"]).write_text(text + "\n", encoding="utf-8", newline="\n")
    return WrittenSheet(paths, figures, no_picture)


@dataclass(frozen=True, eq=False)
class _More:
    """A picture besides those of the steps.

    Attributes
    ----------
    name : of its file
    part : after whose steps it stands; None for the end
    """

    name: str
    title: str
    text: str
    alt: str
    view: View
    part: int | None


def _more(
    rule: WeaveRule,
    unit: Unit,
    states: Sequence[HalfMade],
    shown: Sequence[View],
    core_radius_mm: float,
) -> list[_More]:
    """What each part looks like when it is done, the lay where words may not do, and the clasp."""
    puts = list(woven(rule))
    steps = shown[len(shown) - len(puts) :]
    more = []
    for part in range(puts[-1].part + 1):
        last = max(at for at, put in enumerate(puts) if put.part == part)
        line = words.whole_line(rule, part)
        names = [str(ring) for ring in line.through]
        view = whole_view(steps[last].scene, names, shown[0].toward)
        name = "first" if part == 0 else "repeating"
        alt = words.whole_alt(rule, line)
        more.append(_More(name, words.whole_title(rule, part), line.text, alt, view, part))
    if not rule.lay_in_words:
        last = puts[-1].part
        line = words.whole_line(rule, last)
        named = {ref: n for ref, n in words.numbered(rule).items() if n in line.through}
        view = finished_view(rule, unit, named, core_radius_mm, shown[0].toward)
        text, alt = words.LAY_PICTURE, words.lay_alt(rule, line)
        more.append(_More("lay", words.LAY_TITLE, text, alt, view, last))
    clasp = None if rule.family.has_rows else _clasp(rule, states, shown[-1], core_radius_mm)
    more += [] if clasp is None else [clasp]
    if (end := tapered(rule, unit, core_radius_mm)) is not None:
        more.append(_More(_TAPER, TAPER_TITLE, end.text, end.alt, end.view, None))
    return more


def _clasp(
    rule: WeaveRule, states: Sequence[HalfMade], before: View, core_radius_mm: float
) -> _More | None:
    """The step of the clasp, of a piece that hangs and has an end."""
    if not rule.family.repeats and not rule.ends[1]:
        return None
    numbers: dict[RingRef, int | str] = {**words.numbered(rule)}
    last = sorted(words.end_rings(rule)[1])
    ends = [ref for ref, number in numbers.items() if number in last]
    if not words.held_by_one(rule):
        barred = with_bar_rings(states[-1], ends)
        if barred is None:
            return None
        numbers |= dict(zip(barred.new, words.bar_rings(rule), strict=True))
        line = words.bar_line(rule)
        view = clasp_view(rule, barred, numbers, core_radius_mm, before)
        return _More(_CLASP, "The ends", line.text, words.bar_alt(line), view, None)
    state = with_clasp(states[-1], ends)
    if state is None:
        return None
    line = words.clasp_line(last, len(numbers) + 1)
    numbers |= {CLASP_RING: len(numbers) + 1, CLASP: words.CLASP_LETTER}
    view = clasp_view(rule, state, numbers, core_radius_mm, before)
    return _More(_CLASP, "The clasp", line.text, words.clasp_alt(line), view, None)


def _laid(report: Report, state: RestState, before: View, on_progress: Progress) -> _More:
    """Some repeats of the finished piece in a state."""
    rule, unit = report.rule, report.unit
    repeats = max(_FEWEST_LAID, math.ceil(_LONG_LAID / unit.repeat)) if rule.family.repeats else 1
    rows = _FEWEST_LAID if rule.family.has_rows else 1
    core_mm = report.size.core_radius_mm
    if state.body is not None:
        piece = snug(rule, unit, core_mm, state.body, rows, on_progress)
    else:
        piece = woven_piece(rule, unit, core_mm, repeats, rows)
    found = laid(rule, unit, piece, state, on_progress)
    title, text = words.laid_title(state), words.laid_text(state)
    return _More(_LAID, title, text, text, laid_view(found, before), None)


def ring_roles(rule: WeaveRule) -> dict[str, str]:
    """The role of every ring that the sheet shows, by its number, as a finished piece has it."""
    roles = {ring.name: ring.role for ring in rule.rings}
    start = {each.ring: each.role for each in rule.start}
    numbers = words.numbered(rule)
    # The ring after the last one is that of the clasp, put in open like others.
    return {str(n): start.get(ref, roles[ref.name]) for ref, n in numbers.items()} | {
        str(len(numbers) + 1): "open"
    }


def sheet_text(written: WrittenSheet) -> str:
    """The steps and the files, for a person at a terminal."""
    figures = written.figures
    lines = [f"How {figures.weave} is woven", ""]
    for step in figures.steps:
        lines += _wrapped(f"  {step.step or 'start'}: {step.text}")
        said = [step.way_in.said if step.way_in else "", step.as_drawn]
        words = " ".join(part for part in said if part)
        lines += _wrapped(f"     ({words})") if words else []
    lines += ["", *wrapped(figures.finishing), "", "Take care"]
    lines += _bullets(figures.cautions)
    lines += ["", "Written", *(f"  {path}" for path in written.files.values())]
    return "\n".join(lines)


def _wrapped(line: str) -> list[str]:
    """An indented line as wide as a terminal, what runs over further in."""
    return wrapped(line, further=" " * 5)


def _bullets(said: Sequence[str]) -> list[str]:
    return [row for each in said for row in _wrapped(f"  - {each}")]


def _states(report: Report, on_progress: Progress) -> list[HalfMade]:
    what = "laying it out" if lies_on_table(report.rule) else "letting it hang"
    return half_made(report.rule, report.unit, lambda done, of: on_progress(what, done, of))


def _cut(
    data: bytes, shown: Sequence[View], marks: Sequence[Any], roles: Mapping[str, str] | None
) -> list[bytes]:
    """The pictures one by one, with their numbers, from the one that was drawn."""
    from PIL import Image

    with Image.open(io.BytesIO(data)) as opened:
        whole = opened.convert("RGB")
    return [
        labelled(whole.crop((0, PIXELS * row, PIXELS, PIXELS * (row + 1))), view, mark, roles)
        for row, (view, mark) in enumerate(zip(shown, marks, strict=True))
    ]


def _sheet(
    rule: WeaveRule,
    report: Report,
    lines: Sequence[words.Line],
    pictures: Sequence[bytes | None],
    more: Sequence[_More],
    notes: Sequence[str],
    roles: Mapping[str, str] | None,
) -> Sheet:
    size, first = report.size, len(lines)
    others = [
        Card(each.title, each.text, picture, each.alt, each.part, note)
        for each, picture, note in zip(more, pictures[first:], notes[first:], strict=True)
    ]
    cards = tuple(
        Card(
            f"Step {step}" if line.ring is not None else "Start",
            line.text,
            picture,
            words.alt_text(rule, line, whole_numbers(roles)),
            line.part,
            note,
        )
        for step, line, picture, note in zip(
            step_numbers(lines), lines, pictures[:first], notes[:first], strict=True
        )
    )
    parts = {line.part for line in lines if line.part >= 0}
    return Sheet(
        f"How {rule.name} is woven",
        (
            f"Rings of {format_mm(size.inner_mm)} inner diameter in wire of "
            f"{format_mm(size.wire_mm)}; aspect ratio (AR, inner diameter divided by wire "
            f"diameter) {size.aspect_ratio:.2f}.",
            *(f"Rings of another size, {said}." for said in said_rings(rule, size)),
            f"{rule.summary[0].upper()}{rule.summary[1:]}.",
            words.bill(rule),
            words.pictures_words(rule),
        ),
        (*cards, *others),
        {part: words.part_title(rule, part) for part in parts},
        {part: words.repeating(rule) for part in parts if part == 1},
        words.finishing(rule, any(each.name == _CLASP for each in more)),
        looks_of(roles),
    )
