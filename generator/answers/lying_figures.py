"""The figures that a check adds where it is asked how the weave lies or hangs."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.answers.check_figures import MEASURED_MM
from ringwright.answers.laid_figures import fit_words
from ringwright.base.figures import LEFT_OUT, PERCENT, REPEATS, Figures, LeftOut, Unit, read_from
from ringwright.base.terminal import FURTHER, figure_line, wrapped
from ringwright.base.wording import counted
from ringwright.rest.fit import Fit
from ringwright.rest.hanging import UNTOLD
from ringwright.rest.measures import LyingMeasures, OtherWay, SheetAreas

_MM2_PER_CM2, _MM2_PER_SQ_INCH = 100.0, 25.4**2
_AREA = Unit("mm2", 4)
# A ruler tells no less.
_TELLS_MM = 0.1


@dataclass(frozen=True)
class Looked:
    """How a weave lies or hangs; None where that was not asked for, or it cannot be woven."""

    found: LyingMeasures | None


def _sheet(looked: Looked) -> SheetAreas | None:
    return None if looked.found is None else looked.found.areas


def _worn(looked: Looked) -> Fit | None:
    return None if looked.found is None else looked.found.fit


def _snapped(looked: Looked) -> OtherWay | None:
    return None if looked.found is None else looked.found.other


_lying = read_from(Looked).part(lambda looked: looked.found, LEFT_OUT)
_areas = read_from(Looked).part(_sheet, LEFT_OUT)
_fit = read_from(Looked).part(_worn, LEFT_OUT)
_other = read_from(Looked).part(_snapped, LEFT_OUT)


@dataclass(frozen=True)
class LyingFigures(Figures[Looked]):
    """How a weave measures as it lies or hangs; nothing where it is pulled straight."""

    laid: str | LeftOut = _lying(lambda found: found.state.name, "as --laid has it")
    lying_width_mm: float | LeftOut = _lying(
        lambda found: LEFT_OUT if found.width_mm is None else found.width_mm,
        "across a chain as it lies or hangs, away from its ends",
        MEASURED_MM,
    )
    lying_thickness_mm: float | LeftOut = _lying(
        lambda found: found.thickness_mm, "from the table up, away from ends and edges", MEASURED_MM
    )
    lying_width_range_mm: tuple[float, float] | LeftOut = _lying(
        lambda found: LEFT_OUT if found.width_range_mm is None else found.width_range_mm,
        "the least and the most that a touch makes of the width, or, of a spiral, a repeat or two "
        "more: states that are as good as equal",
        MEASURED_MM,
    )
    lying_thickness_range_mm: tuple[float, float] | LeftOut = _lying(
        lambda found: LEFT_OUT if found.thickness_range_mm is None else found.thickness_range_mm,
        "the same of the thickness",
        MEASURED_MM,
    )
    lying_other_width_mm: float | LeftOut = _other(
        lambda other: other.width_mm,
        "the same, of another way in which the chain is at rest on a table, where it has two",
        MEASURED_MM,
    )
    lying_other_thickness_mm: float | LeftOut = _other(
        lambda other: other.thickness_mm, "the same of the thickness", MEASURED_MM
    )
    lying_other_longer_percent: float | LeftOut = _other(
        lambda other: 100.0 * other.longer,
        "how much longer the chain is in that way; below zero where it is shorter",
        PERCENT,
    )
    spread_area_per_ring_mm2: float | LeftOut = _areas(
        lambda areas: areas.spread_mm2, "of a sheet spread, for each of its rings", _AREA
    )
    hung_area_per_ring_mm2: tuple[float | None, float | None] | LeftOut = _areas(
        lambda areas: areas.hung_mm2,
        "of a sheet hung flat by its first row, and by the ends of its rows; null where that "
        "cannot be told",
        _AREA,
    )
    hung_area_untold: str | LeftOut = _areas(
        lambda areas: UNTOLD if None in areas.hung_mm2 else LEFT_OUT,
        "why it cannot, where it cannot",
    )
    worn_repeats: int | LeftOut = _fit(lambda fit: fit.repeats, "so many go round it", REPEATS)
    worn_girth_mm: float | LeftOut = _lying(
        lambda found: LEFT_OUT if found.state.body is None else found.state.body.girth_mm,
        "of the wrist or finger it is worn on",
        MEASURED_MM,
    )
    worn_goes_round: bool | LeftOut = _fit(
        lambda fit: fit.goes_round, "whether no further repeat has room between its ends"
    )
    worn_open_for_clasp_mm: float | LeftOut = _fit(
        lambda fit: LEFT_OUT if fit.open_mm is None else fit.open_mm,
        "left between its ends",
        MEASURED_MM,
    )
    worn_inside_length_mm: float | LeftOut = _fit(
        lambda fit: fit.inside_mm, "along it inside, from end to end", MEASURED_MM
    )
    lying_residual: float | LeftOut = _lying(
        lambda found: found.residual, "what forces leave of the pull, as a share of it"
    )
    lying_settled: bool | LeftOut = _lying(
        lambda found: found.settled, "whether it is at rest: the residual is at most 1e-6"
    )


def _range_lines(found: LyingMeasures) -> list[str]:
    """Between which figures a touch moves it, where a ruler would tell."""
    said = [
        f"{low:.2f} to {high:.2f} mm {what}"
        for what, span in (("wide", found.width_range_mm), ("thick", found.thickness_range_mm))
        if span is not None
        for low, high in [span]
        if high - low > _TELLS_MM
    ]
    if not said:
        return []
    if found.winds:
        words = f"{', '.join(said)}, as pieces of a repeat or two more wind otherwise"
        return wrapped(figure_line("or else", words), further=FURTHER)
    return [figure_line("with a touch", f"{', '.join(said)}, all as good as at rest")]


def _other_lines(other: OtherWay) -> list[str]:
    """The other way in which a chain lies, once it is pressed flat or set up."""
    percent = f"{abs(100.0 * other.longer):.1f}"
    longer = f"{percent} % {'longer' if other.longer > 0.0 else 'shorter'}"
    if percent == "0.0":
        longer = "as long"
    said = (
        f"{other.width_mm:.2f} mm wide, {other.thickness_mm:.2f} mm thick, {longer}: handled, it "
        "snaps from one to the other"
    )
    return wrapped(figure_line("also at rest", said), further=FURTHER)


def _area_lines(areas: SheetAreas) -> list[str]:
    """What a ring of a sheet takes in each of its states."""
    row, ends = areas.hung_mm2
    lines = []
    for name, area in (
        ("a ring takes, spread", areas.spread_mm2),
        ("hung by its row", row),
        ("hung by the ends", ends),
    ):
        if area is None:
            continue
        per_cm2, per_inch = _MM2_PER_CM2 / area, _MM2_PER_SQ_INCH / area
        said = f"{area:.2f} mm2: {per_cm2:.2f} per square cm, {per_inch:.1f} per square inch"
        lines.append(figure_line(name, said))
    if None in areas.hung_mm2:
        name = "hung" if row is ends is None else "hung by the ends" if row else "hung by its row"
        lines += wrapped(figure_line(name, f"no figure: {UNTOLD}"), further=FURTHER)
    return lines


def lying_text(found: LyingMeasures) -> str:
    """How a weave lies or hangs, in words."""
    name = f"as it {found.state.does}"
    wide = "" if found.width_mm is None else f"{found.width_mm:.2f} mm wide, "
    lines = [figure_line(name, f"{wide}{found.thickness_mm:.2f} mm thick, {found.state.said}")]
    lines += _range_lines(found)
    if found.other is not None:
        lines += _other_lines(found.other)
    if found.fit is not None:
        said = f"{counted(found.fit.repeats, 'repeat')}: {fit_words(found.fit)}"
        lines += wrapped(figure_line("as much of it", said), further=FURTHER)
    if found.areas is not None:
        lines += _area_lines(found.areas)
    if not found.settled:
        lines += wrapped(
            figure_line(
                "not quite at rest",
                f"forces are still off by {found.residual:.1g} of the pull, so take these figures "
                "as rough",
            ),
            further=FURTHER,
        )
    return "\n".join(lines)
