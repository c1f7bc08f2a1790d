"""Weave rules: one TOML file per weave, and the loader that checks them."""

from weaves.loader import list_rules, load_rule
from weaves.rule import (
    CommonRange,
    Link,
    RingRef,
    RuleRing,
    StartRing,
    Step,
    Vector,
    WeaveRule,
)

__all__ = [
    "CommonRange",
    "Link",
    "RingRef",
    "RuleRing",
    "StartRing",
    "Step",
    "Vector",
    "WeaveRule",
    "list_rules",
    "load_rule",
]
