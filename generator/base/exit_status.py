"""What a command tells the program that started it: its exit status, and how far it is."""

from __future__ import annotations

WOVEN, NOT_WOVEN, BAD_INPUT, NOT_WRITTEN, INTERRUPTED = 0, 1, 2, 3, 130


# Set, a command prints every step of its progress bar as a line that begins with STEP.
STEPS_ASKED = "RINGWRIGHT_STEPS"
STEP = "step\t"
