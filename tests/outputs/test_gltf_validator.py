"""Every glTF that is written, read by Khronos' own validator (npm: gltf-validator).

Needs Node and the validator, which pip does not install: ``npm install --prefix .venv/node
gltf-validator``. Run with ``pytest -m outside``.
"""

import json
import os
import subprocess
from pathlib import Path

import pytest

from ringwright.base.sizes import RingSize
from ringwright.cli import main
from ringwright.outputs.assembly_sheet.animation import write_animation
from ringwright.outputs.assembly_sheet.sheet import ring_roles
from ringwright.outputs.assembly_sheet.views import scenes, views
from ringwright.outputs.assembly_sheet.words import numbered
from ringwright.piece.half_made import half_made
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule
from tests.node_packages import NODE_PACKAGES

pytestmark = pytest.mark.outside

SIZE = ["--wire", "0.9mm", "--ratio", "4.4"]
_ASK = """
const validator = require("gltf-validator"), bytes = require("fs").readFileSync(process.argv[1]);
validator.validateBytes(new Uint8Array(bytes)).then((said) => console.log(JSON.stringify(said)));
"""


def complaints(path: Path) -> list[dict[str, object]]:
    """Errors and warnings (severity 0 and 1) that the validator finds in a file."""
    said = json.loads(
        subprocess.run(
            ["node", "-e", _ASK, str(path)],
            env={**os.environ, "NODE_PATH": str(NODE_PACKAGES)},
            check=True,
            capture_output=True,
            text=True,
        ).stdout
    )
    return [message for message in said["issues"]["messages"] if message["severity"] < 2]


def test_a_broken_file_is_found_out(tmp_path: Path) -> None:
    model = tmp_path / "piece"
    main(["preview", "barrel", *SIZE, "--length", "20mm", "--out", str(model)])
    whole = model.with_suffix(".glb").read_bytes()
    assert complaints(model.with_suffix(".glb")) == []
    # The same file with an accessor of a kind that does not exist.
    broken = tmp_path / "broken.glb"
    broken.write_bytes(whole.replace(b'"VEC3"', b'"VEC9"', 1))
    assert complaints(broken)


def test_model_of_a_sheet_in_two_metals(tmp_path: Path) -> None:
    model = tmp_path / "piece"
    options = ["--length", "15mm", "--width", "15mm", "--pattern", "2*copper,brass"]
    main(["preview", "european-4-in-1", *SIZE, *options, "--out", str(model)])
    assert complaints(model.with_suffix(".glb")) == []


@pytest.mark.parametrize("name", ["one-in-one", "barrel"])
def test_animation_of_a_weave_being_made(tmp_path: Path, name: str) -> None:
    rule, size = load_rule(name), RingSize(0.9, 3.2)
    states = half_made(rule, settle(rule, size).unit)
    made = views(rule, scenes(rule, states, numbered(rule), size.core_radius_mm, {}))
    for roles in (None, ring_roles(rule)):
        path = tmp_path / "weaving.glb"
        write_animation(made, path, roles=roles)
        assert b'"animations"' in path.read_bytes()
        assert complaints(path) == []
