"""The commands that a maker waits for, as so many times the start of numpy and scipy, and goals."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile

from tests.benchmarks.commands import run
from tests.benchmarks.timing import median_seconds, told

_BASE = "import numpy, scipy.optimize"
_RINGS = ["--wire", "1mm", "--inner", "4mm"]


def main() -> None:
    """Print the median time of each command beside its goal on two idle cores."""
    repeats = 1 if "--quick" in sys.argv else 5

    def start() -> None:
        subprocess.run([sys.executable, "-c", _BASE], check=True, capture_output=True)

    # As an installed program runs, whose modules are compiled.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    base = median_seconds(start, repeats)
    print(f"{'python -c ' + repr(_BASE):<44}{told(base)}")
    with tempfile.TemporaryDirectory() as folder:
        for goal_s, arguments in (
            (0.6, ["check", "barrel", *_RINGS]),
            (0.6, ["check", "byzantine", *_RINGS]),
            (3.0, ["limits", "barrel", *_RINGS]),
            (15.0, ["limits", "byzantine", *_RINGS]),
            (10.0, ["assembly", "barrel", *_RINGS, "--out", f"{folder}/sheet"]),
        ):
            taken = median_seconds(lambda arguments=arguments: run(arguments), repeats)
            print(
                f"{' '.join(arguments[:2]):<44}{told(taken)}{taken / base:8.1f} times that; "
                f"goal {goal_s:g} s",
                flush=True,
            )


if __name__ == "__main__":
    main()
