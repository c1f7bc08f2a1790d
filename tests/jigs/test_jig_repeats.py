"""Jigs built in other processes, where memory and hashes lie otherwise: the same files."""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

from ringwright.base.sizes import RingSize
from ringwright.jigs import cutting_cradle, weaving_stand, winding_guide
from ringwright.jigs.checks.rays import mesh_of
from ringwright.jigs.files.jig_step import write_jig_step
from ringwright.jigs.files.write_3mf import Body, write_3mf
from ringwright.jigs.files.write_jig import write_stl
from ringwright.jigs.parts.jig import on_the_bed
from ringwright.jigs.parts.printing import Printer


def main(folder):
    """Build jigs with screws and parts that are placed several times; print what their files are.

    Run by the test in processes of its own.
    """
    printer = Printer()
    start = weaving_stand.Start(2, 4.0, RingSize(0.9, 3.2), True, "two rings")
    jigs = (
        winding_guide.build(winding_guide.dimensions(3.2, 0.9, printer), printer),
        cutting_cradle.build(cutting_cradle.dimensions(3.2, 0.9, printer)),
        weaving_stand.build(weaving_stand.dimensions(start, printer)),
    )
    for jig in jigs:
        write_jig_step(jig, folder / f"{jig.name}.step")
        for part in jig.parts:
            mesh = mesh_of(on_the_bed(part, part.solid))
            write_stl(mesh, folder / f"{jig.name}-{part.name}.stl")
            body = Body(mesh, part.name, part.colour)
            write_3mf([body], folder / f"{jig.name}-{part.name}.3mf")
    for path in sorted(folder.iterdir()):
        print(path.name, hashlib.sha256(path.read_bytes()).hexdigest())


def test_another_process_writes_the_same_bytes(tmp_path):
    said = []
    for seed in ("1", "2"):
        folder = tmp_path / seed
        folder.mkdir()
        made = subprocess.run(
            [sys.executable, "-m", "tests.jigs.test_jig_repeats", str(folder)],
            cwd=Path(__file__).parents[2],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        )
        said.append(made.stdout.splitlines())
    assert len(said[0]) == 3 + 2 * (5 + 2 + 3)
    assert said[0] == said[1]


if __name__ == "__main__":
    main(Path(sys.argv[1]))
