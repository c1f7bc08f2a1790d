"""What can be written as JSON, as types: a value, and an object of values by name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeAlias

Json: TypeAlias = "Mapping[str, Json] | Sequence[Json] | str | float | bool | None"
JsonObject: TypeAlias = Mapping[str, Json]
