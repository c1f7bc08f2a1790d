"""Jigs at the corners of the sizes, as the command is asked for them: built and sound, or refused.

Thin wire on a large ring is the corner that no other test of a jig builds; thick wire on a small
one is no ring. The gauge is left out: its plug follows from the ring alone, its slots from the
wire, and its own tests build all four extremes.
"""

import argparse
import json

import pytest
import trimesh

from ringwright.base.errors import BadInput
from ringwright.cli import main
from ringwright.jigs import JIGS, jig_module
from ringwright.jigs.checks.printability import check_jig, require_printable
from ringwright.jigs.parts.printing import add_printer, printer_from

WOVEN = {
    "sorting-tray": ["one-in-one", "--length", "60mm"],
    "weaving-stand": ["one-in-one"],
    "giant-sample": ["one-in-one", "--repeats", "1"],
}


def asked(name, wire_mm, inner_mm, *more):
    """A jig and its printer, from the words of a command."""
    parser = argparse.ArgumentParser()
    module = jig_module(name)
    module.add_options(parser)
    add_printer(parser)
    size = ["--wire", f"{wire_mm}mm", "--inner", f"{inner_mm}mm"]
    options = parser.parse_args([*WOVEN.get(name, []), *size, *more])
    printer = printer_from(options)
    return module.from_options(options, printer), printer


@pytest.mark.parametrize("name", JIGS)
def test_thick_wire_on_a_small_ring_is_refused_with_the_reason(name):
    with pytest.raises(BadInput, match=r"aspect ratio of 0\.5.*perhaps .* swapped"):
        asked(name, 3, 1.5)


@pytest.mark.parametrize("name", ["winding-guide", "cutting-cradle", "sorting-tray"])
def test_thin_wire_on_a_large_ring_is_built_and_sound(name):
    jig, printer = asked(name, 0.4, 20)
    checked = check_jig(jig, printer)
    assert checked.faults == ()
    assert set(checked.meshes) == {part.name for part in jig.parts}
    for part in checked.parts:
        assert part.wall.mm >= printer.least_wall_mm - 0.005
        assert {each.kind for each in part.overhangs} <= {"bridge"}
        assert part.grams > 0.0
        assert part.minutes > 0.0
    assert all(abs(pair.measured_mm - pair.designed_mm) < 0.01 for pair in checked.pairs)


def test_and_its_files_are_written(tmp_path, capsys):
    out = str(tmp_path / "stand")
    size = ["--wire", "0.4mm", "--inner", "20mm"]
    assert main(["jig", "weaving-stand", "one-in-one", *size, "--out", out, "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    files = {kind: tmp_path / path.rsplit("/", 1)[1] for kind, path in facts["files"].items()}
    assert set(files.values()) == set(tmp_path.iterdir())
    assert all(path.stat().st_size > 100 for path in files.values())
    for part in facts["parts"]:
        mesh = trimesh.load_mesh(files[f"stl {part['name']}"])
        assert mesh.is_watertight
        assert mesh.extents == pytest.approx(part["size_mm"], abs=1e-3)


def test_rings_so_wide_that_their_sample_does_not_fit_the_bed_are_refused():
    with pytest.raises(BadInput, match="does not fit the bed: give fewer repeats"):
        asked("giant-sample", 0.4, 20)


@pytest.mark.parametrize("name", JIGS)
def test_what_a_small_bed_cannot_take_is_refused(name):
    with pytest.raises(BadInput, match="not fit the bed"):
        require_printable(*asked(name, 0.9, 3.2, "--bed", "50x50x50mm"))
