"""Candidates for a weave's placement, as files, words and JSON."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from ringwright.answers.check_figures import CheckFigures
from ringwright.base.errors import BadInput
from ringwright.base.figures import head_of
from ringwright.base.files import WholeFiles
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize, format_mm
from ringwright.base.terminal import figure_line
from ringwright.base.wording import quoted_path
from ringwright.outputs.models.artist import PictureUnavailable
from ringwright.outputs.models.picture import write_png
from ringwright.piece.piece import Piece, woven_piece
from ringwright.search.candidate_figures import CandidateFiles, CandidatesFigures, Listed
from ringwright.search.candidates import Candidate, Candidates
from ringwright.weaves import load_rule
from ringwright.weaves.rule import StepsRule, WeaveRule
from ringwright.weaves.writing import kept_text

# Repeats in a candidate's picture, along and across.
_REPEATS, _ROWS = 6, 4


def write_candidates(
    rule: StepsRule,
    found: Candidates,
    folder: Path,
    name: str,
    keep: int | None,
    on_progress: Progress,
) -> tuple[CandidateFiles, str | None]:
    """Write every candidate's rule file and picture, and the figures of all.

    Parameters
    ----------
    rule : whose file's remarks are kept
    folder, name : the files are ``folder/name-1.toml``, ``folder/name-1.png`` and so on, and
        ``folder/name.json``
    keep : the number of the candidate that is also written as ``folder/name.toml``

    Returns
    -------
    files, no_picture : paths by kind (``rules`` and ``pictures`` by number, ``json``,
        ``kept``); why there are no pictures, or None

    Raises
    ------
    BadInput
        When there is no candidate of that number, or a file cannot be written.
    """
    if keep is not None and keep > len(found.listed):
        raise BadInput(
            f"--keep {keep} asks for a candidate that was not found: there are "
            f"{len(found.listed)}; give 1 to {len(found.listed)}."
        )
    original = rule.path.read_text(encoding="utf-8-sig")
    rules: dict[int, str] = {}
    pictures: dict[int, str] = {}
    kept = no_picture = None
    with WholeFiles(folder) as batch:
        for done, one in enumerate(found.listed):
            on_progress("writing files", done, len(found.listed))
            text = kept_text(one.rule, original, _read)
            stem = f"{name}-{one.number}"
            batch.new(f"{stem}.toml").write_text(text, encoding="utf-8", newline="\n")
            rules[one.number] = str(folder / f"{stem}.toml")
            if one.number == keep:
                batch.new(f"{name}.toml").write_text(text, encoding="utf-8", newline="\n")
                kept = str(folder / f"{name}.toml")
            if no_picture is None and one.report is not None:
                try:
                    write_png(candidate_piece(one), batch.new(f"{stem}.png"))
                    pictures[one.number] = str(folder / f"{stem}.png")
                except PictureUnavailable as reason:
                    batch.drop(f"{stem}.png")
                    no_picture = str(reason)
        files: CandidateFiles = {
            "rules": rules,
            "pictures": pictures,
            "json": str(folder / f"{name}.json"),
            "kept": kept,
        }
        size = next((one.report.size for one in found.listed if one.report), None)
        facts = CandidatesFigures.of(Listed(found, size, files)).facts()
        text = json.dumps(facts, ensure_ascii=False, indent=1)
        batch.new(f"{name}.json").write_text(text + "\n", encoding="utf-8", newline="\n")
    on_progress("writing files", len(found.listed), len(found.listed))
    return files, no_picture


def keep_own_file(rule: StepsRule, folder: Path, name: str, most: int) -> None:
    """Refuse names under which the rule file that was read would be replaced.

    Parameters
    ----------
    most : at most so many candidates will be written

    Raises
    ------
    BadInput
        When one of the files to be written is the rule's own.
    """
    for written in [f"{name}.toml", *(f"{name}-{number}.toml" for number in range(1, most + 1))]:
        if _is_same_file(folder / written, rule.path):
            raise BadInput(
                f"{quoted_path(folder / written)} is the rule file itself, which is not replaced; "
                "give --out another name."
            )


def _is_same_file(one: Path, other: Path) -> bool:
    try:
        return os.path.samefile(one, other)
    except OSError:
        return False


def _read(text: str) -> WeaveRule | None:
    """A text read as a rule file, None where it is none."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "rule.toml"
        path.write_text(text, encoding="utf-8", newline="\n")
        try:
            return load_rule(path)
        except BadInput:
            return None


def candidate_piece(one: Candidate) -> Piece:
    """A few repeats of a candidate, as it rests or, where it cannot be woven, at its tightest."""
    if one.report is None:
        raise ValueError("a candidate without a resting place has no piece")
    rows = _ROWS if one.rule.family.has_rows else 1
    return woven_piece(one.rule, one.unit, one.report.size.core_radius_mm, _REPEATS, rows)


def candidates_text(found: Candidates, size: RingSize, files: CandidateFiles) -> str:
    """The candidates in plain words."""
    lays = "one lay" if found.lays == 1 else f"{found.lays} different lays"
    lines = [
        f"{found.listed[0].rule.name}: wire {format_mm(size.wire_mm)}, inner diameter "
        f"{format_mm(size.inner_mm)}, aspect ratio {size.aspect_ratio:.3f}",
        f"{found.placed} of {found.tries} random starts came to the links of the steps; the best "
        f"of them lie in {lays}.",
        "",
    ]
    for one in found.listed:
        lines += [*_one_lines(one), ""]
    lines += [
        "Look at the pictures: links alone do not say what lies over what, so choose the one",
        "you mean and keep its rule file. Other lays may exist; more --tries find more.",
        "",
        "Written",
        *(f"  {path}" for path in _all_paths(files)),
    ]
    return "\n".join(lines)


def _one_lines(one: Candidate) -> list[str]:
    mirror = f", the mirror image of {one.mirror_of}" if one.mirror_of else ""
    starts = "one start" if one.found == 1 else f"{one.found} starts"
    head = f"Candidate {one.number}{mirror} ({starts} came to it)"
    report = one.report
    if report is None:
        return [head, f"  {one.trouble}"]
    lines = [
        f"{head}: {report.verdict}",
        figure_line(
            head_of(CheckFigures, "min_aspect_ratio"),
            f"{report.tightest.aspect_ratio:.3f} (geometry)",
        ),
    ]
    if report.repeat_mm is not None:
        lines.append(figure_line(head_of(CheckFigures, "repeat_mm"), f"{report.repeat_mm:.3f} mm"))
    if report.width_mm is not None and report.thickness_mm is not None:
        across = f"{report.width_mm:.2f} mm by {report.thickness_mm:.2f} mm"
        lines.append(figure_line("width by thickness", across))
    return lines


def _all_paths(files: CandidateFiles) -> list[str]:
    paths: list[str] = []
    for told in files.values():
        if isinstance(told, Mapping):
            paths += told.values()
        elif told:
            paths.append(told)
    return paths
