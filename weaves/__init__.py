"""Weave rules: one TOML file per weave, and the loader that checks them."""

from weaves.loader import list_rules, load_rule
from weaves.rule import (
    CommonRange,
    Image,
    Link,
    RingRef,
    RuleRing,
    RuleSize,
    StartRing,
    Step,
    Vector,
    WeaveRule,
    wrapped,
)

__all__ = [
    "CommonRange",
    "Image",
    "Link",
    "RingRef",
    "RuleRing",
    "RuleSize",
    "StartRing",
    "Step",
    "Vector",
    "WeaveRule",
    "list_rules",
    "load_rule",
    "wrapped",
]
