"""Run the benchmarks and print what each takes, and how many times its peers take.

    python -m tests.benchmarks                 everything
    python -m tests.benchmarks pair sheet      some sections
    python -m tests.benchmarks --quick         smaller sizes, fewer repeats

A section is a function that takes ``quick`` and prints its own lines. To add one,
write it in a module of its own and list it in ``SECTIONS``.
"""

from __future__ import annotations

import argparse
import os
import platform

# The peers are measured on one core, as the package's own loops run.
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from tests.benchmarks import pair, sheet

SECTIONS = {
    "pair": ("distance of two circles, against the CAD kernel", pair.run),
    "sheet": ("interference in a sheet of rings, against collision libraries", sheet.run),
}


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("sections", nargs="*", metavar="section", help=", ".join(SECTIONS))
    parser.add_argument("--quick", action="store_true", help="smaller sizes, fewer repeats")
    asked = parser.parse_args()
    for name in asked.sections:
        if name not in SECTIONS:
            parser.error(f"no section {name}; there are {', '.join(SECTIONS)}")
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    for name in asked.sections or SECTIONS:
        title, run = SECTIONS[name]
        print(f"\n{name}: {title}\n", flush=True)
        run(asked.quick)


if __name__ == "__main__":
    main()
