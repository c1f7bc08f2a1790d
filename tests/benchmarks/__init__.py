"""Side-by-side timings; run with ``python -m tests.benchmarks``. Never a pass/fail test."""
