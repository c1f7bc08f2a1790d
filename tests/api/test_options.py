"""What the API's functions take is what their commands take."""

import argparse
import inspect
import typing

import pytest

import ringwright as rw
from ringwright.api.jig import jig, jig_parser
from ringwright.base.arguments import Parser
from ringwright.commands import plan as plan_command
from ringwright.jigs import JIGS


def options_of(parser: argparse.ArgumentParser) -> set[str]:
    return {action.dest for action in parser._actions} - {"help", "out", "json"}


def overload_of(name: str) -> inspect.Signature:
    """The signature of ``rw.jig`` for one jig."""
    for one in typing.get_overloads(jig):
        if typing.get_type_hints(one)["name"] == typing.Literal[name]:
            return inspect.signature(one, eval_str=True)
    raise AssertionError(f"rw.jig says nothing of {name}")


def test_plan_takes_what_its_command_takes():
    commands = Parser().add_subparsers(parser_class=Parser)
    plan_command.add(commands)
    typed = commands.choices["plan"]
    taken = inspect.signature(rw.plan).parameters
    assert set(taken) - {"workers", "on_progress"} == options_of(typed)
    for name in ("shorter", "anneal", "clasp_rings", "clasp_price", "spares", "paper", "coil"):
        assert taken[name].default == typed.get_default(name), name


@pytest.mark.parametrize("name", JIGS)
def test_jig_takes_what_the_jigs_command_takes(name):
    signature, parser = overload_of(name), jig_parser(name)
    (keys,) = typing.get_args(signature.parameters["options"].annotation)
    woven = {"weave"} & set(signature.parameters)
    assert set(keys.__annotations__) | woven == options_of(parser)
    needed = {action.dest for action in parser._actions if action.required}
    assert set(keys.__required_keys__) | woven == needed


def test_a_ring_size_says_wire_and_inner_diameter():
    size = rw.RingSize(1.0, 4.0)
    assert rw.jig("ring-gauge", wire=size).jig.facts == (
        rw.jig("ring-gauge", wire="1mm", inner="4mm").jig.facts
    )
    found = rw.plan("one-in-one", wire=size, length="50mm")
    assert found.facts() == rw.plan("one-in-one", wire="1mm", inner="4mm", length="50mm").facts()
    for again in ({"inner": "4mm"}, {"ratio": 4}):
        with pytest.raises(rw.BadInput, match="a RingSize says"):
            rw.plan("one-in-one", wire=size, length="50mm", **again)
        with pytest.raises(rw.BadInput, match="a RingSize says"):
            rw.jig("ring-gauge", wire=size, **again)
