"""A default changed in its one place is changed wherever a maker meets it."""

import ast
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from ringwright import commands, jigs, page
from ringwright.base import defaults

CHANGED = {
    "PAPER": "letter",
    "SCALE": "2:1",
    "BACKGROUND": "dark",
    "CHORD_ERROR_MM": 0.07,
    "WIDTH_MM": 37.0,
    "SPARES_PERCENT": 11.0,
    "CLASP_RINGS": 9,
    "EASE_MM": {"wrist": 61.0, "ankle": 62.0, "neck": 63.0, "finger": 64.0},
    "OVAL": 1.77,
    "WRIST_MM": 173.0,
    "COIL_MM": 83.0,
    "KERF_MM": 0.47,
    "CALIPER_MM": 0.17,
    "BED_MM": (187.0, 188.0, 189.0),
    "NOZZLE_MM": 0.61,
    "LAYER_MM": 0.13,
    "CLEARANCE_MM": 0.31,
    "SWEEP_STEPS": 19,
    "SWEEP_WIRE_MM": 1.9,
    "CANDIDATES": 7,
    "RANDOM_STARTS": 43,
}

# Another process, in which the defaults are others before anything has read them.
TOLD = """
import argparse, inspect, json, sys
from ringwright.base import defaults
for name, value in json.loads(sys.argv[1]).items():
    setattr(defaults, name, tuple(value) if isinstance(value, list) else value)

import ringwright as rw
from ringwright.cli import _parser
from ringwright.jigs import JIGS, jig_module
from ringwright.jigs.parts.printing import Printer, add_printer, printer_from
from ringwright.making.plan.plan import Asked
from ringwright.making.shop.starting_shop import STARTING_SHOP
from ringwright.page.files.command_lines import Chosen, command_for, jig_options
from ringwright.page.files.project_file import Project, project_text
from ringwright.page.state.chosen import Wanted
from ringwright.page.state.file_settings import Settings
from ringwright.weaves import named_rule

def helps(parser):
    return {one.dest: (one.help or "") % vars(one) for one in parser._actions}

commands = _parser()._subparsers._group_actions[0].choices
told = {name: helps(parser) for name, parser in commands.items()}
for name in JIGS:
    parser = argparse.ArgumentParser()
    jig_module(name).add_options(parser)
    add_printer(parser)
    told[name] = helps(parser)
    told[f"page {name}"] = {one.name: one.help for one in jig_options(name)}
told["api"] = {
    name: str(one.default)
    for call in (rw.plan, rw.place)
    for name, one in inspect.signature(call).parameters.items()
}
told["shop"] = STARTING_SHOP
told["asked"] = repr(Asked())
parser = argparse.ArgumentParser()
add_printer(parser)
told["printer"] = repr(printer_from(parser.parse_args([])))
told["printer alone"] = repr(Printer())
settings = Settings()
told["project"] = project_text(Project(Wanted(), (), "", "", settings))
told["lines"] = {}
for paper in ("A4", "letter"):
    for scale in ("fit", "2:1"):
        for background in ("light", "dark"):
            typed = settings
            for name, text in (("paper", paper), ("scale", scale), ("background", background)):
                typed = typed.with_text(name, text)
            chosen = Chosen(Wanted(), named_rule("barrel"), "", "", typed)
            told["lines"][f"{paper} {scale} {background}"] = [
                " ".join(command_for(topic, chosen).arguments)
                for topic in ("plan", "steps", "drawing", "pictures")
            ]
print(json.dumps(told))
"""


@cache
def told() -> dict[str, Any]:
    made = subprocess.run(
        [sys.executable, "-c", TOLD, json.dumps(CHANGED)], capture_output=True, check=True
    )
    found: dict[str, Any] = json.loads(made.stdout)
    return found


def test_every_default_is_changed_here() -> None:
    named = {name for name in vars(defaults) if name.isupper()}
    assert named == set(CHANGED)
    assert all(getattr(defaults, name) != CHANGED[name] for name in named)


@pytest.mark.parametrize(
    ("where", "option", "said"),
    [
        ("plan", "paper", "default letter"),
        ("drawing", "paper", "default letter"),
        ("assembly", "paper", "default letter"),
        ("drawing", "scale", "default 2:1"),
        ("stills", "background", "default dark"),
        ("preview", "chord_error", "default 0.07mm"),
        ("preview", "width", "default 37mm"),
        ("drawing", "width", "default 37mm"),
        ("stills", "width", "37mm for the worn view"),
        ("sorting-tray", "width", "default 37mm"),
        ("plan", "spares", "default 11%"),
        ("sorting-tray", "spare", "default 11;"),
        ("page sorting-tray", "spare", "default 11;"),
        ("plan", "clasp_rings", "default 9"),
        ("sorting-tray", "clasp_rings", "default 9"),
        ("plan", "ease", "default: wrist 61mm, ankle 62mm, neck 63mm, finger 64mm"),
        ("size", "ease", "default: wrist 61mm, ankle 62mm, neck 63mm, finger 64mm"),
        ("stills", "oval", "default 1.77"),
        ("stills", "wrist", "default 173mm"),
        ("check", "wrist", "default 173mm"),
        ("plan", "coil", "else 83mm"),
        ("winding-guide", "coil_length", "default 83mm"),
        ("ring", "kerf", "e.g. 0.47mm"),
        ("ring", "caliper", "default 0.17mm"),
        ("plan", "caliper", "default 0.17mm"),
        ("cutting-cradle", "kerf", "default 0.47mm"),
        ("page cutting-cradle", "kerf", "default 0.47mm"),
        ("ring-gauge", "bed", "default 187x188x189mm"),
        ("ring-gauge", "nozzle", "default 0.61mm"),
        ("ring-gauge", "layer", "default 0.13mm"),
        ("ring-gauge", "clearance", "default 0.31mm"),
        ("sweep", "steps", "default 19"),
        ("sweep", "wire", "default 1.9mm"),
        ("place", "candidates", "default 7"),
        ("place", "tries", "default 43"),
    ],
)
def test_help_says_it(where: str, option: str, said: str) -> None:
    assert said in told()[where][option]


def test_calls_and_files_take_it() -> None:
    found = told()
    assert (
        found["api"]
        | {
            "spares": "11%",
            "paper": "letter",
            "candidates": "7",
            "tries": "43",
        }
        == found["api"]
    )
    assert "spares_percent=11.0" in found["asked"]
    for printer in (found["printer"], found["printer alone"]):
        assert re.search(r"187.*nozzle_mm=0.61.*layer_height_mm=0.13.*clearance_mm=0.31", printer)
    for line in (
        'kerf = "0.47mm"',
        'coil = "83mm"',
        'error = "0.17mm"',
        'bed = ["187mm", "188mm", "189mm"]',
        'nozzle = "0.61mm"',
        'layer_height = "0.13mm"',
        'clearance = "0.31mm"',
    ):
        assert line in found["shop"]
    for line in ('paper = "letter"', 'scale = "2:1"', 'background = "dark"'):
        assert line in found["project"]


def test_the_page_leaves_out_of_a_command_what_that_takes_anyway() -> None:
    lines = told()["lines"]
    for chosen, said in lines.items():
        paper, scale, background = chosen.split()
        plan, steps, drawing, pictures = said
        for line in (plan, steps, drawing):
            assert ("--paper A4" in line) == (paper == "A4")
            assert "--paper letter" not in line
        assert ("--scale fit" in drawing) == (scale == "fit")
        assert ("--background light" in pictures) == (background == "light")


def _texts(tree: ast.AST) -> Iterator[str]:
    return (
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    )


def test_no_text_tells_a_default_by_itself() -> None:
    """What a maker reads of a default is made from the value."""
    alone = re.compile(r"\(default:? (\d|A4|letter|fit|light)|\d ?(mm|%)[^.;]* if (left )?empty")
    found = [
        f"{path.name}: {text}"
        for package in (commands, jigs, page)
        for path in sorted(Path(package.__path__[0]).rglob("*.py"))
        for text in _texts(ast.parse(path.read_text(encoding="utf-8")))
        if alone.search(text)
    ]
    assert found == []
