"""The shop file: what it takes, and how it says what is wrong."""

import os

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.base.errors import BadInput
from ringwright.base.sizes import parse_load, parse_seconds
from ringwright.making.ring.coil import SHEARS
from ringwright.making.shop.shop import MOST_BYTES, load_shop
from ringwright.making.shop.starting_shop import STARTING_SHOP
from ringwright.metals.metal_names import metal_named

WIRE = """
[[wire]]
name = "thin copper"
size = "0.9mm"
metal = "copper"
temper = "soft"
price_per_kg = 25
"""


@pytest.fixture
def shop_file(tmp_path):
    def write(text):
        path = tmp_path / "shop.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write


def refusal(path):
    with pytest.raises(BadInput) as caught:
        load_shop(path)
    message = str(caught.value)
    assert message.startswith("shop file ")
    assert "\n" not in message
    return message


def test_the_file_to_start_from_can_be_read_and_has_everything(shop_file):
    shop = load_shop(shop_file(STARTING_SHOP))
    assert [wire.name for wire in shop.wires] == ["copper 0.9", "silver 20 AWG"]
    assert shop.wires[1].wire_mm == pytest.approx(0.8118, abs=1e-4)
    assert shop.wires[1].price_per_kg == 1100.0
    assert [mandrel.mandrel_mm for mandrel in shop.mandrels] == [2.5, 3.0, 3.175, 3.5]
    assert shop.stock_rings[0].size.inner_mm == pytest.approx(4.7625)
    assert shop.cut.kerf_mm == pytest.approx(0.3)
    assert shop.printer.bed_mm == (220.0, 220.0, 250.0)
    assert shop.rates.markup == 1.5
    assert shop.pace.weave_s == 20.0


def test_its_commented_parts_can_be_read_too(shop_file):
    # Remarks become keys: every line that begins with "# [[" or follows one up to a blank.
    lines, on = [], False
    for line in STARTING_SHOP.splitlines():
        on = line.startswith("# [[") or (on and line.startswith("#"))
        lines.append(line.removeprefix("# ") if on else line)
    shop = load_shop(shop_file("\n".join(lines)))
    assert shop.metals[0].name == "my bronze"
    assert shop.wires[0].bending.trials == 1


def test_an_empty_file_is_an_empty_shop_that_cuts_with_shears(shop_file):
    shop = load_shop(shop_file(""))
    assert (shop.wires, shop.mandrels, shop.stock_rings) == ((), (), ())
    assert shop.cut is SHEARS
    assert shop.rates.per_hour is None


def test_prices_per_metre_and_per_kilogram(shop_file):
    text = WIRE + WIRE.replace("thin", "other").replace("price_per_kg = 25", "price_per_m = 0.5")
    by_mass, by_length = load_shop(shop_file(text)).wires
    # A metre of 0.9 mm copper: 0.6362 mm2 times 8.94 g/cm3 is 5.687 g.
    assert by_mass.mass_g(1000.0) == pytest.approx(5.687, abs=1e-3)
    assert by_mass.price(1000.0) == pytest.approx(0.1422, abs=1e-4)
    assert by_length.price(3000.0) == pytest.approx(1.5)
    bare = load_shop(shop_file(WIRE.replace("price_per_kg = 25\n", ""))).wires[0]
    assert bare.price(1000.0) is None


def test_bought_rings_by_outer_diameter(shop_file):
    text = '[[stock_ring]]\nwire = "0.9mm"\nouter = "5mm"\nmetal = "copper"\nprice_per_100 = 3\n'
    ring = load_shop(shop_file(text)).stock_rings[0]
    assert ring.size.inner_mm == pytest.approx(3.2)
    assert ring.price(250) == pytest.approx(7.5)
    assert ring.name == "0.9mm x 3.2mm copper rings"


def test_a_trial_calibrates_its_wire_and_others_of_the_kind(shop_file):
    other = WIRE.replace("thin", "thick").replace("0.9mm", "1.2mm").replace('"soft', '"dead soft')
    hard = WIRE.replace("thin", "hard").replace('"soft', '"hard')
    trial = '[[trial]]\nwire = "thin copper"\nmandrel = "3mm"\ninner = "3.1mm"\n'
    thin, thick, hard = load_shop(shop_file(WIRE + other + hard + trial)).wires
    assert thin.bending.trials == 1
    assert thick.bending == thin.bending.of_another_spool()
    assert thick.bending.is_borrowed
    assert hard.bending.trials == 0
    assert hard.bending.flow == metal_named("copper").flow("hard", 0.9)


def test_a_wire_s_own_trials_go_before_those_of_its_kind(shop_file):
    other = WIRE.replace("thin", "thick").replace("0.9mm", "1.2mm")
    trials = "".join(
        f'[[trial]]\nwire = "{name} copper"\nmandrel = "4mm"\ninner = "{inner}mm"\n'
        for name, inner in (("thin", 4.1), ("thick", 4.3))
    )
    thin, thick = load_shop(shop_file(WIRE + other + trials)).wires
    assert thin.bending.trials == thick.bending.trials == 1
    assert thin.bending.flow.at_tenth < thick.bending.flow.at_tenth
    assert not thin.bending.is_borrowed


def test_two_trials_of_a_spool_are_fitted_together_and_the_caliper_counts(shop_file):
    trials = "".join(
        f'[[trial]]\nwire = "thin copper"\nmandrel = "{mandrel}mm"\ninner = "{inner}mm"\n'
        for mandrel, inner in ((3, 3.09), (6, 6.24))
    )
    (plain,) = load_shop(shop_file(WIRE + trials)).wires
    (rough,) = load_shop(shop_file(WIRE + trials + '[caliper]\nerror = "0.1mm"\n')).wires
    (own,) = load_shop(shop_file(WIRE + trials.replace("inner", 'error = "0.1mm"\ninner'))).wires
    assert plain.bending.trials == 2
    assert own.bending == rough.bending

    def width(wire):
        least, most = wire.bending.ends(4.0, 0.9)
        return most.at_tenth - least.at_tenth

    assert width(rough) > 2.0 * width(plain)


def test_a_spool_has_room_for_its_trials_and_no_more(shop_file):
    trial = '[[trial]]\nwire = "thin copper"\nmandrel = "3mm"\ninner = "3.1mm"\n'
    assert load_shop(shop_file(WIRE + 20 * trial)).wires[0].bending.trials == 20
    with pytest.raises(BadInput, match=r"trial.*is one more trial of 'thin copper': keep 20"):
        load_shop(shop_file(WIRE + 21 * trial))


def test_a_metal_of_ones_own(shop_file):
    text = """
[[metal]]
name = "my alloy"
density_g_per_cm3 = 9.9
youngs_modulus_mpa = 90000
tempers = [{ name = "as drawn", yield_mpa = 200, tensile_mpa = 300 }]
nickel = "traces"
price_per_kg = 40
[[wire]]
size = "1mm"
metal = "My Alloy"
temper = "as drawn"
"""
    wire = load_shop(shop_file(text)).wires[0]
    assert wire.metal.density_g_per_cm3 == 9.9
    assert wire.bending.flow == wire.metal.flow("as drawn", 1.0)
    assert wire.metal.temper("as drawn").of_wire(1.0).tensile_mpa == pytest.approx(300.0)
    assert wire.price_per_kg == 40.0
    assert any("nickel" in said for said in wire.metal.cautions())


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("[[wires]]\n", "wires is an unknown key: perhaps wire is meant"),
        (WIRE + "colur = 'red'\n", "wire[0].colur ([[wire]] number 1) is an unknown key: perhaps"),
        (WIRE.replace('"0.9mm"', "0.9"), "is 0.9, expected a length with its unit"),
        (WIRE.replace("0.9mm", "0.9"), "has no unit"),
        (WIRE.replace("0.9mm", "18ga"), "could be 18awg"),
        (WIRE.replace('"copper"', '"coper"'), "no metal is called 'coper': perhaps copper is"),
        (WIRE.replace('"soft"', '"wobbly"'), "is not listed in the temper 'wobbly'"),
        (WIRE.replace("25", "-1"), "expected a number from 0 to 1e+07"),
        (WIRE.replace("25", "nan"), "expected a number from 0 to 1e+07"),
        (WIRE + "price_per_m = 1\n", "has a price per kilogram and one per metre"),
        (WIRE + WIRE, "is 'thin copper' again"),
        (WIRE.replace('size = "0.9mm"\n', ""), "wire[0].size ([[wire]] number 1) is missing"),
        ('[[mandrel]]\nsize = "3mm"\n[[mandrel]]\nsize = "0.3cm"\n', "of the same size again"),
        ('[[stock_ring]]\nwire = "1mm"\nmetal = "copper"\n', "needs either inner or outer"),
        (
            '[[stock_ring]]\nwire = "1mm"\nouter = "1.5mm"\nmetal = "copper"\n',
            "leaves no hole",
        ),
        ('[saw]\nkerf = "5mm"\n', "width of the saw cut"),
        (
            WIRE + '[[trial]]\nwire = "no"\nmandrel = "3mm"\ninner = "3.1mm"\n',
            "expected the name of one of your wires, 'thin copper'",
        ),
        (
            WIRE + '[[trial]]\nwire = "thin copper"\nmandrel = "3mm"\ninner = "2.9mm"\n',
            "cannot come from a mandrel",
        ),
        (
            WIRE + '[[trial]]\nwire = "thin copper"\nmandrel = "3mm"\ninner = "3.1mm"\n'
            'measured = "sawn ring"\n',
            "no kerf is known",
        ),
        (
            WIRE + '[[trial]]\nwire = "thin copper"\nmandrel = "3mm"\ninner = "3.1mm"\n'
            'kerf = "0.3mm"\n',
            "leave it out",
        ),
        ('[printer]\nbed = ["200mm"]\n', "a list of three"),
        ('[pace]\nopen = "6"\n', "is not a number and a unit"),
        ('[pace]\nopen = "6mm"\n', "is not a time"),
        ("[rates]\nmarkup = 0.5\n", "expected a number from 1 to 100"),
        ('[[metal]]\nname = "copper"\ndensity_g_per_cm3 = 9\n', "youngs_modulus_mpa"),
        ('[[metal]]\nname = "copper"\n[[metal]]\nname = "C11000"\nprice_per_kg = 1\n', None),
        (
            '[[metal]]\nname = "copper"\nprice_per_kg = 1\n'
            '[[metal]]\nname = "C11000"\nprice_per_kg = 2\n',
            "has a price already",
        ),
        ("wire = 3\n", "wire is 3, expected a list"),
        ("[[mandrel]]\n" * 101, "a list of at most 100"),
        ("a" * 500, "500 characters in line 1"),
        ("[[wire", "is not valid TOML"),
        (b"\xff", "is not UTF-8"),
        ("a = " + ("[" * 300 + "\n") * 20, "nested too deeply"),
    ],
)
def test_what_cannot_be_is_refused_with_its_place(shop_file, text, reason):
    if reason is None:
        assert load_shop(shop_file(text)).wires == ()
        return
    assert reason in refusal(shop_file(text))


def test_files_that_are_none(tmp_path, shop_file):
    assert "does not exist" in refusal(tmp_path / "no.toml")
    assert "is a folder" in refusal(tmp_path)
    os.mkfifo(tmp_path / "pipe.toml")
    assert "is not a regular file" in refusal(tmp_path / "pipe.toml")
    huge = shop_file("#" * (MOST_BYTES + 1))
    assert f"a shop file has at most {MOST_BYTES}" in refusal(huge)


def test_an_unknown_wire_is_refused_with_those_there_are(shop_file):
    shop = load_shop(shop_file(WIRE))
    assert shop.wire("thin copper") is shop.wires[0]
    with pytest.raises(BadInput, match="expected one of 'thin copper'"):
        shop.wire("fat copper")


@settings(derandomize=True, deadline=None, max_examples=100)
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.text(max_size=8),
        lambda inner: st.lists(inner, max_size=3),
        max_leaves=6,
    ),
    st.sampled_from(["wire", "mandrel", "stock_ring", "metal", "trial", "saw", "pace", "rates"]),
)
def test_odd_values_are_refused_in_one_sentence(tmp_path_factory, value, key):
    path = tmp_path_factory.mktemp("shop") / "shop.toml"
    path.write_text(f"{key} = {_toml(value)}\n", encoding="utf-8")
    assert outcome(path).isprintable()


def outcome(path):
    """What reading says: its complaint, or nothing."""
    try:
        load_shop(path)
    except BadInput as error:
        return str(error)
    return ""


def _toml(value):
    if value is None:
        return "{ size = 1 }"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(mark):08x}" for mark in value) + '"'
    return str(value)


@pytest.mark.parametrize(
    ("text", "newtons"),
    [("5N", 5.0), ("2kg", 19.6133), ("500 g", 4.903325), ("1 kgf", 9.80665), ("1lbf", 4.4482216)],
)
def test_loads_are_forces_or_what_masses_weigh(text, newtons):
    # The pound-force by the international pound and the standard fall: 4.4482216 N.
    assert parse_load(text) == pytest.approx(newtons)


@pytest.mark.parametrize(
    ("read", "text", "reason"),
    [
        (parse_load, "5", "is not a number and a unit"),
        (parse_load, "5mm", "is neither a force nor a mass"),
        (parse_load, "0N", "is not a number above zero"),
        (parse_load, "1,5N", "has a comma"),
        (parse_load, "5foo", "is neither a force nor a mass"),
        (lambda text: parse_seconds(text, "pace"), "5N", "is not a time"),
        (lambda text: parse_seconds(text, "pace"), "1e999s", "not a number above zero"),
    ],
)
def test_what_is_no_load_and_no_time_is_refused(read, text, reason):
    with pytest.raises(BadInput, match=reason):
        read(text)


def test_times_are_read_in_seconds():
    assert parse_seconds("1.5 min", "pace") == 90.0
    assert parse_seconds("6s", "pace") == 6.0
