"""Medians of repeated runs, and time and peak memory of a run in a process of its own."""

from __future__ import annotations

import json
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any


def median_seconds(work: Callable[[], object], repeats: int) -> float:
    """Median time of ``work`` over so many runs, after one that is not counted."""
    work()
    taken = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def in_a_child(module: str, *arguments: object) -> dict[str, Any]:
    """Run ``python -m module arguments``: what it reported, and ``process_s`` from outside.

    The module prints one line of JSON, by :func:`report`.
    """
    start = time.perf_counter()
    command = [sys.executable, "-m", module, *map(str, arguments)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    seen: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return seen | {"process_s": time.perf_counter() - start}


def report(**figures: object) -> None:
    """Print figures and this process's peak memory for the parent to read."""
    # Linux counts in KiB, macOS in bytes.
    unit = 2**20 if sys.platform == "darwin" else 2**10
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit
    print(json.dumps(figures | {"peak_mib": peak}))


def told(seconds: float) -> str:
    """Seconds in a unit that suits them."""
    for unit, size in (("s ", 1.0), ("ms", 1e-3)):
        if seconds >= size:
            return f"{seconds / size:8.3f} {unit}"
    return f"{seconds / 1e-6:8.3f} us"
