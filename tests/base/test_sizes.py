"""Reading what a maker types as a length, a gauge or a ratio."""

import itertools
import math
import sys

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ringwright.base.errors import BadInput
from ringwright.base.sizes import (
    HIGHEST_RATIO,
    LONGEST_MM,
    LOWEST_RATIO,
    SHORTEST_MM,
    RingSize,
    awg_mm,
    format_mm,
    parse_length,
    parse_ratio,
    swg_mm,
)

SETTINGS = settings(derandomize=True, deadline=None, max_examples=150)

# ASTM B258, nominal diameters in inches to four places (from memory).
ASTM_B258_INCHES = {
    "0000": 0.4600,
    "000": 0.4096,
    "00": 0.3648,
    "0": 0.3249,
    "10": 0.1019,
    "16": 0.0508,
    "18": 0.0403,
    "20": 0.0320,
    "24": 0.0201,
    "36": 0.0050,
}

# BS 3737, nominal diameters in millimetres to three places (from memory).
BS_3737_MM = {
    "7/0": 12.700,
    "4/0": 10.160,
    "0": 8.230,
    "1": 7.620,
    "6": 4.877,
    "8": 4.064,
    "10": 3.251,
    "12": 2.642,
    "14": 2.032,
    "16": 1.626,
    "18": 1.219,
    "19": 1.016,
    "20": 0.914,
    "22": 0.711,
    "24": 0.559,
    "26": 0.457,
    "28": 0.376,
    "29": 0.345,
    "30": 0.315,
    "32": 0.274,
    "36": 0.193,
    "40": 0.122,
    "50": 0.025,
}


def refusal(text, what="wire"):
    with pytest.raises(BadInput) as caught:
        parse_length(text, what)
    return str(caught.value)


def value_or_refusal(read):
    try:
        return read()
    except BadInput as error:
        return str(error)


@pytest.mark.parametrize(
    ("text", "expected_mm"),
    [
        ("1.25mm", 1.25),
        ("1.25 mm", 1.25),
        ("  1.25mm\n", 1.25),
        (".8mm", 0.8),
        ("125e-2 mm", 1.25),
        ("0.12cm", 1.2),
        ("180mm", 180.0),
        ("0.18 m", 180.0),
        ("900 µm", 0.9),
        ("0.048in", 1.2192),
        ("7 inch", 177.8),
        ("7 inches", 177.8),
        ('7"', 177.8),
        ("1.2 MM", 1.2),
        ("2 IN", 50.8),
        ("48thou", 1.2192),
        ("3/16in", 4.7625),
        ("3 / 16 inch", 4.7625),
        ("1 1/8 in", 28.575),
        ("1-1/8in", 28.575),
        ('1/4"', 6.35),
        ("10m", 10_000.0),
    ],
)
def test_lengths_are_read_as_millimetres(text, expected_mm):
    assert parse_length(text, "length") == pytest.approx(expected_mm, rel=1e-12)


@pytest.mark.parametrize("unit", ["mm", "in", "inch", "cm", "m"])
def test_units_that_are_read_without_all_of_pint_are_as_pint_has_them(unit):
    expected_mm = pint.UnitRegistry().Quantity(3.0, unit).to("mm").magnitude
    assert parse_length(f"3{unit}", "length") == pytest.approx(expected_mm, rel=1e-12)


def test_an_inch_is_exactly_25_4_mm():
    assert parse_length("1in", "length") == 25.4
    assert parse_length("1/1in", "length") == 25.4


@pytest.mark.parametrize(("gauge", "inches"), ASTM_B258_INCHES.items())
def test_american_gauges_agree_with_the_table_of_astm_b258(gauge, inches):
    assert parse_length(f"{gauge}awg", "wire") / 25.4 == pytest.approx(inches, abs=5.1e-5)


@pytest.mark.parametrize(("gauge", "expected_mm"), BS_3737_MM.items())
def test_standard_gauges_agree_with_the_table_of_bs_3737(gauge, expected_mm):
    assert parse_length(f"{gauge}swg", "wire") == pytest.approx(expected_mm, abs=5.1e-4)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("4/0awg", "0000 AWG"),
        ("1/0awg", "0awg"),
        ("2/0 awg", "00awg"),
        ("7/0swg", "0000000swg"),
        ("3/0 SWG", "000swg"),
    ],
)
def test_two_ways_to_write_an_aught_gauge_mean_the_same(one, other):
    assert parse_length(one, "wire") == parse_length(other, "wire")


@pytest.mark.parametrize(("table", "first"), [(awg_mm, -3), (swg_mm, -6)])
def test_wire_gets_thinner_with_every_gauge(table, first):
    diameters = [table(gauge) for gauge in range(first, 51)]
    assert all(thick > thin for thick, thin in itertools.pairwise(diameters))
    for outside in (first - 1, 51):
        with pytest.raises(BadInput, match=f"no gauge {outside}"):
            table(outside)


@pytest.mark.parametrize(
    ("text", "readings"),
    [
        ("1.2", ["1.2 mm", "1.2 in (30.48 mm)"]),
        ("16", ["16 mm", "16 in (406.4 mm)", "16awg (1.291 mm)", "16swg (1.626 mm)"]),
        ("50", ["50 mm", "50awg (0.025 mm)", "50swg (0.025 mm)"]),
        ("0", ["0awg (8.251 mm)", "0swg (8.23 mm)"]),
        ("4/0", ["4/0awg (11.684 mm)", "4/0swg (10.16 mm)"]),
        ("16ga", ["16awg (1.291 mm)", "16swg (1.626 mm)"]),
        ("16 gauge", ["16awg (1.291 mm)", "16swg (1.626 mm)"]),
        ("16g", ["16awg (1.291 mm)", "16swg (1.626 mm)"]),
        ("7/0 ga", ["7/0swg (12.7 mm)"]),
        ("48mil", ["48 mm", "48 thou (1.219 mm)"]),
    ],
)
def test_a_length_with_two_readings_is_refused_with_all_of_them(text, readings):
    message = refusal(text)
    assert message.startswith(f"wire '{text}'")
    for reading in readings:
        assert reading in message


def test_a_bare_number_that_is_no_gauge_offers_no_gauge():
    for text in ("1.2", "51", "16.0"):
        assert "awg" not in refusal(text)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("3kg", "is a mass, but a length is expected"),
        ("1.5g", "is a mass"),
        ("60 g", "is a mass"),
        ("3s", "is a time"),
        ("20degC", "is a temperature"),
        ("3acre", "is an area"),
        ("2L", "is a volume"),
        ("3rad", "is a plain number or an angle"),
        ("5Pa", "[mass] / [length] / [time] ** 2"),
        ("3foo", "the unit 'foo', which is not known"),
        ("1,25mm", "a comma: write decimals with a point"),
        ("-1mm", "is not more than zero"),
        ("-1", "is not more than zero"),
        ("0mm", "is not more than zero"),
        ("0/16in", "is not more than zero"),
        ("0mil", "is not more than zero"),
        ("nan", "is not a finite number"),
        ("-inf mm", "is not a finite number"),
        ("1e999mm", "is not a finite number"),
        ("1e999", "is not a finite number"),
        ("0.5 µm", "is less than 0.001 mm"),
        ("10.001m", "is more than 10 m"),
        ("10001", "is more than 10 m"),
        ("51awg", "is not a gauge of AWG, a whole number from 0000 to 50"),
        ("5/0awg", "0000 to 50"),
        ("16.5awg", "is not a gauge of AWG"),
        ("-1awg", "is not a gauge of AWG"),
        ("51swg", "is not a gauge of SWG, a whole number from 7/0 to 50"),
        ("8/0swg", "7/0 to 50"),
        ("60ga", "is not a gauge of AWG (0000 to 50) or SWG (7/0 to 50)"),
        ("3/16mm", "has the unit 'mm', but only inches are taken as a fraction"),
        ("3/16", "has no unit, but only inches are taken as a fraction"),
        ("3/0in", "is a fraction over zero"),
        ("", "is empty"),
        ("  ", "is empty"),
        ("mm", "is not a number and a unit"),
        ("3mm^2", "is not a number and a unit"),
        ("1.2 mm mm", "is not a number and a unit"),
        ("9**9**9mm", "is not a number and a unit"),
        ("__import__('os')mm", "is not a number and a unit"),
        ("1" * 41 + "mm", "is 43 characters long"),
    ],
)
def test_what_is_no_length_is_refused_in_one_sentence(text, reason):
    message = refusal(text, "inner diameter")
    assert message.startswith("inner diameter ")
    assert reason in message
    assert "\n" not in message


@SETTINGS
@given(st.floats(min_value=SHORTEST_MM, max_value=LONGEST_MM))
@example(SHORTEST_MM)
@example(LONGEST_MM)
def test_a_length_comes_back_from_how_it_is_written(value_mm):
    assert parse_length(f"{value_mm!r} mm", "length") == value_mm
    assert parse_length(format_mm(value_mm), "length") == pytest.approx(value_mm, abs=5.1e-4)
    rounded_mm = round(value_mm, 3)
    assert parse_length(format_mm(rounded_mm), "length") == rounded_mm


@SETTINGS
@given(
    st.floats(min_value=0.01, max_value=900.0),
    # The inch is 25.4 mm by the international yard and pound agreement of 1959.
    st.sampled_from([("mm", 1.0), ("cm", 10.0), ("in", 25.4), ("thou", 0.0254), ("m", 1000.0)]),
)
def test_a_length_is_the_same_in_every_unit(value_mm, unit):
    name, millimetres = unit
    text = f"{value_mm / millimetres:.15g} {name}"
    assert parse_length(text, "length") == pytest.approx(value_mm, rel=1e-12)


@SETTINGS
@given(st.integers(-3, 50))
def test_an_american_gauge_comes_back_from_its_diameter(gauge):
    # ASTM B258: 39 equal ratios from 0.46 in (0000) to 0.005 in (36).
    inches = awg_mm(gauge) / 25.4
    steps = 39.0 * math.log(0.46 / inches) / math.log(0.46 / 0.005)
    assert steps - 3.0 == pytest.approx(gauge, abs=1e-9)


@SETTINGS
@given(st.floats(min_value=0.0, exclude_min=True, allow_infinity=False))
@example(sys.float_info.max)
@example(sys.float_info.min)
def test_any_positive_number_of_millimetres_is_read_or_refused_by_its_size(value_mm):
    text = f"{value_mm!r}mm"
    if SHORTEST_MM <= value_mm <= LONGEST_MM:
        assert parse_length(text, "length") == value_mm
    else:
        expected = "less than 0.001 mm" if value_mm < SHORTEST_MM else "more than 10 m"
        assert expected in refusal(text, "length")


NEARLY_A_LENGTH = st.from_regex(
    r"[-+]?[0-9]{0,4}[./, -]?[0-9]{1,3}(e-?[0-9]{1,4})?\s?"
    r"(mm|in|awg|swg|g|ga|mil|[A-Za-zµ\"]{1,6})?",
    fullmatch=True,
)


@SETTINGS
@given(st.text() | NEARLY_A_LENGTH)
@example("\x00")
@example("1\udc80mm")
@example("٣mm")
@example("1 in in")
@example("1lambda")
def test_any_text_is_a_length_or_is_refused_in_one_line(text):
    outcome = value_or_refusal(lambda: parse_length(text, "wire"))
    if isinstance(outcome, str):
        assert outcome.isprintable()
    else:
        assert SHORTEST_MM <= outcome <= LONGEST_MM


@SETTINGS
@given(st.text() | NEARLY_A_LENGTH)
def test_any_text_is_a_ratio_or_is_refused_in_one_line(text):
    outcome = value_or_refusal(lambda: parse_ratio(text))
    if isinstance(outcome, str):
        assert outcome.isprintable()
    else:
        assert 0.0 < outcome < math.inf


@pytest.mark.parametrize(("text", "value"), [("4", 4.0), (" 4.25 ", 4.25), ("+3.5", 3.5)])
def test_a_ratio_is_a_plain_number(text, value):
    assert parse_ratio(text) == value


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("4mm", "has a unit"),
        ("4awg", "has a unit"),
        ("4,2", "has a comma"),
        ("4:1", "is not a plain number"),
        ("4/1", "is not a plain number"),
        ("0", "is not a number above zero"),
        ("-4", "is not a number above zero"),
        ("1e999", "is not a number above zero"),
        ("nan", "is not a plain number"),
        ("", "is empty"),
        ("4" * 41, "is 41 characters long"),
    ],
)
def test_what_is_no_ratio_is_refused(text, reason):
    with pytest.raises(BadInput) as caught:
        parse_ratio(text)
    assert str(caught.value).startswith("aspect ratio ")
    assert reason in str(caught.value)


@pytest.mark.parametrize(
    ("value_mm", "text"),
    [
        (1.25, "1.25 mm"),
        (30.0, "30 mm"),
        (100.0, "100 mm"),
        (1.29085, "1.291 mm"),
        (-0.0001, "0 mm"),
        (-1.5, "-1.5 mm"),
        (math.inf, "inf mm"),
    ],
)
def test_millimetres_are_written_to_three_places_without_idle_zeros(value_mm, text):
    assert format_mm(value_mm) == text


def test_a_ring_size_from_wire_and_inner_diameter():
    size = RingSize.from_text("1.2 mm", "4.8mm", None)
    assert size == RingSize(wire_mm=1.2, inner_mm=4.8)
    assert size.aspect_ratio == pytest.approx(4.0)
    assert size.outer_mm == pytest.approx(7.2)
    assert size.core_radius_mm == pytest.approx(3.0)
    assert size.wire_radius_mm == pytest.approx(0.6)


def test_a_ring_size_from_wire_and_ratio():
    size = RingSize.from_text("18swg", None, "4")
    assert size.wire_mm == pytest.approx(1.2192)
    assert size.inner_mm == pytest.approx(4.8768)


@SETTINGS
@given(
    st.floats(min_value=0.1, max_value=10.0),
    st.floats(min_value=LOWEST_RATIO, max_value=HIGHEST_RATIO),
)
@example(0.3, LOWEST_RATIO)
@example(0.3, HIGHEST_RATIO)
def test_the_ratio_asked_for_is_the_ratio_of_the_ring(wire_mm, ratio):
    size = RingSize.from_text(f"{wire_mm!r}mm", None, repr(ratio))
    assert size.aspect_ratio == pytest.approx(ratio, rel=1e-12)


@pytest.mark.parametrize(
    ("wire", "inner", "ratio", "reason"),
    [
        ("1mm", None, None, "neither an inner diameter nor an aspect ratio"),
        ("1mm", "4mm", "4", "both an inner diameter and an aspect ratio"),
        ("4mm", "1mm", None, "an aspect ratio of 0.25, outside 1 to 50: perhaps wire and inner"),
        ("1mm", "60mm", None, "an aspect ratio of 60, outside 1 to 50: check both"),
        ("1mm", "0.01mm", None, "an aspect ratio of 0.01, outside 1 to 50: check both"),
        ("1mm", None, "0.25", "swapped and 4 is meant"),
        ("1mm", None, "60", "aspect ratio 60 is outside 1 to 50"),
        ("900mm", None, "40", "inner diameter '40 x 900mm' is more than 10 m"),
        ("1", "4mm", None, "wire '1' has no unit"),
        ("1mm", "4", None, "inner diameter '4' has no unit"),
    ],
)
def test_a_ring_size_that_cannot_be_is_refused(wire, inner, ratio, reason):
    with pytest.raises(BadInput) as caught:
        RingSize.from_text(wire, inner, ratio)
    assert reason in str(caught.value)


def test_swapping_is_not_suggested_where_it_would_not_help():
    for inner in ("60mm", "0.01mm"):
        with pytest.raises(BadInput) as caught:
            RingSize.from_text("1mm", inner, None)
        assert "swapped" not in str(caught.value)
