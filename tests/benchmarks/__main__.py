"""Run the benchmarks and print what each takes, and how many times its peers take.

    python -m tests.benchmarks                 everything
    python -m tests.benchmarks pair sheet      some sections
    python -m tests.benchmarks --quick         smaller sizes, fewer repeats
    python -m tests.benchmarks --long          peers also where they take many minutes

A section is a module with a ``main``, run in a process of its own. To add one, write
the module and list it in ``SECTIONS``.
"""

from __future__ import annotations

import argparse
import os
import platform
import subprocess
import sys

SECTIONS = {
    "pair": "distance of two circles, against the CAD kernel",
    "sheet": "interference in a sheet of rings, against collision libraries",
    "settle": "settling a repeat, against IPOPT; neighbouring sizes; the tightest ring",
    "commands": "whole commands, from start to end",
    "goals": "what a maker waits for, beside the start of numpy and scipy, and the goals",
}


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("sections", nargs="*", metavar="section", help=", ".join(SECTIONS))
    parser.add_argument("--quick", action="store_true", help="smaller sizes, fewer repeats")
    parser.add_argument("--long", action="store_true", help="slow peers at large sizes too")
    asked = parser.parse_args()
    for name in asked.sections:
        if name not in SECTIONS:
            parser.error(f"no section {name}; there are {', '.join(SECTIONS)}")
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    # The peers are measured on one core, as the package's own loops run.
    one_core = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    for name in asked.sections or SECTIONS:
        print(f"\n{name}: {SECTIONS[name]}\n", flush=True)
        # This process stays small, since a child's peak memory is never told as less than
        # what its parent held when it started it.
        command = [sys.executable, "-m", f"tests.benchmarks.{name}"]
        command += ["--quick"] * asked.quick + ["--long"] * asked.long
        subprocess.run(command, check=True, env={**one_core, **os.environ})


if __name__ == "__main__":
    main()
