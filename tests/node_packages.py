"""Where npm put the packages that tests marked ``outside`` need."""

import os
from pathlib import Path

# As .ci/run installs them; the environment can say where else.
NODE_PACKAGES = Path(
    os.environ.get("NODE_PATH", Path(__file__).parents[1] / ".venv/node/node_modules")
)
