"""Weave rules: one TOML file per weave, and the loader that checks them."""

from weaves.loader import checked_name, list_rules, load_rule
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
    "checked_name",
    "list_rules",
    "load_rule",
    "wrapped",
]
