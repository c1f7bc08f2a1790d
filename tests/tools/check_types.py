"""Checks all types with mypy: ``python -m tests.tools.check_types``.

mypy knows no mapping of folders to packages, so it is shown the package as an install has it.
"""

from __future__ import annotations

import os
import subprocess
import sys

from tests.tools.source_tree import ROOT, in_checkout, lay_out

_TREE = ROOT / ".mypy_cache" / "installed"


def main() -> int:
    """Check; the exit status is mypy's."""
    lay_out(_TREE)
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "-p", "ringwright", *sys.argv[1:]],
        cwd=ROOT,
        env={**os.environ, "MYPYPATH": str(_TREE)},
        capture_output=True,
        text=True,
    )
    print(in_checkout(done.stdout, _TREE) + done.stderr, end="")
    return done.returncode


if __name__ == "__main__":
    sys.exit(main())
