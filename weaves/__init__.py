"""Weave rules: one TOML file per weave, and the loader that checks them."""

import sys
from types import ModuleType

from ringwright.weaves.listed import Weave, weaves
from ringwright.weaves.loader import (
    checked_name,
    list_rules,
    load_rule,
    load_steps,
    named_rule,
    rule_from_text,
    rules_named_like,
)
from ringwright.weaves.rule import (
    CommonRange,
    Image,
    Link,
    Minimums,
    OtherShape,
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
from ringwright.weaves.weave_names import OtherWeave, name_key, other_weave, other_weaves

__all__ = [
    "CommonRange",
    "Image",
    "Link",
    "Minimums",
    "OtherShape",
    "OtherWeave",
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
    "name_key",
    "named_rule",
    "other_weave",
    "other_weaves",
    "rule_from_text",
    "rules_named_like",
    "without_placement",
    "wrapped",
]


class _Callable(ModuleType):
    """This package, which ``ringwright.weaves()`` calls: the API's list of all weaves."""

    def __call__(self) -> tuple[Weave, ...]:
        return weaves()


# An attribute of a package gives way to a module of the same name once that is imported, so
# the module itself is what is called.
sys.modules[__name__].__class__ = _Callable
