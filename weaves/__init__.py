"""Weave rules: one TOML file per weave, and the loader that checks them."""

from weaves.loader import checked_name, list_rules, load_rule, load_steps, named_rule, rule_from_text
from weaves.rule import (
    CommonRange,
    Image,
    Link,
    Minimums,
    RingRef,
    RuleRing,
    RuleSize,
    StartRing,
    Step,
    StepsRing,
    StepsRule,
    Vector,
    WeaveRule,
    without_placement,
    wrapped,
)

__all__ = [
    "CommonRange",
    "Image",
    "Link",
    "Minimums",
    "RingRef",
    "RuleRing",
    "RuleSize",
    "StartRing",
    "Step",
    "StepsRing",
    "StepsRule",
    "Vector",
    "WeaveRule",
    "checked_name",
    "list_rules",
    "load_rule",
    "load_steps",
    "named_rule",
    "rule_from_text",
    "without_placement",
    "wrapped",
]
