"""Whole commands, each in a process of its own, from start to end."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.timing import median_seconds, told

SIZE = ["barrel", "--wire", "0.9mm", "--inner", "3.2mm"]


def main() -> None:
    """Print the median time of each command and the sizes of the files."""
    quick = "--quick" in sys.argv
    repeats = 1 if quick else 3
    with tempfile.TemporaryDirectory() as folder:
        for words, arguments in (
            ("--help", ["--help"]),
            ("--version", ["--version"]),
            ("check", ["check", *SIZE]),
            ("limits", ["limits", *SIZE]),
            ("preview, 180 mm", ["preview", *SIZE, "--length", "180mm", "--out", f"{folder}/a"]),
            ("preview, 2.49 m", ["preview", *SIZE, "--length", "2490mm", "--out", f"{folder}/b"]),
        ):
            taken = median_seconds(lambda arguments=arguments: run(arguments), repeats)
            print(f"{words:<20}{told(taken)}")
        for path in sorted(Path(folder).iterdir()):
            print(f"    {path.name:<10}{path.stat().st_size / 2**20:8.2f} MiB")


def run(arguments: list[str]) -> None:
    """One command, its answer thrown away."""
    command = [sys.executable, "-m", "ringwright.cli", *arguments]
    subprocess.run(command, check=True, capture_output=True)


if __name__ == "__main__":
    main()
