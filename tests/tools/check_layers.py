"""Holds the imports against the layers: ``python -m tests.tools.check_layers``.

Every folder has its layer in ``pyproject.toml``, and imports only what lies below it.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.tools.source_tree import ROOT, lay_out


def main() -> int:
    """Check, and print each import that goes upwards; the exit status is 0 where there is none."""
    from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports

    with tempfile.TemporaryDirectory() as folder:
        lay_out(Path(folder))
        # In front of an installed ringwright, whose folders need not lie in one another.
        sys.path.insert(0, folder)
        status = lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)
    return 0 if status == EXIT_STATUS_SUCCESS else 1


if __name__ == "__main__":
    sys.exit(main())
