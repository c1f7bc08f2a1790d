"""A complaint names an option as a command does, and the parameter where a function was called."""

import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

import ringwright as rw
from ringwright.base.errors import BadInput, NoRest


@pytest.mark.parametrize("kind", [BadInput, NoRest])
def test_an_option_is_told_as_the_parameter_it_is(kind):
    error = kind("--clasp-price 2 goes with --clasp; leave out --inner, or (--outer).")
    assert error.typed == "--clasp-price 2 goes with --clasp; leave out --inner, or (--outer)."
    assert str(error) == "clasp_price 2 goes with clasp; leave out inner, or (outer)."


def test_what_was_typed_and_commands_to_type_stay():
    said = (
        "the ring's --inner '--3mm --wire' and the rings' --wire \"it's --x\" are none; see "
        "'ringwright jig --help', 1--2, a--b or --."
    )
    told = said.replace("ring's --inner", "ring's inner").replace("rings' --wire", "rings' wire")
    assert str(BadInput(said)) == told


@given(st.text(max_size=80))
def test_a_sentence_without_options_is_the_same_for_both(text):
    said = f"{text.replace('--', '-')}."
    assert str(BadInput(said)) == BadInput(said).typed == said


def test_it_comes_whole_from_another_process():
    again = pickle.loads(pickle.dumps(BadInput("give a larger --bed")))
    assert (type(again), again.typed, str(again)) == (
        BadInput,
        "give a larger --bed.",
        "give a larger bed.",
    )


def test_a_sentence_ends_with_one_full_stop_and_with_none_within_another():
    for said in ("leave it out", "leave it out."):
        error = BadInput(said)
        assert (error.typed, str(error), error.within) == (
            *("leave it out.", "leave it out."),
            "leave it out",
        )


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (
            lambda: rw.check("one-in-one", "1mm", "4mm").piece("50mm", width="30mm"),
            "width is for sheets, and one-in-one is a chain; leave it out.",
        ),
        (lambda: rw.check("barrel", "1mm", "4mm", second="1mm/4mm"), "second is for weaves with"),
        (lambda: rw.sweep("barrel", ratio_from=3), "A sweep takes either ratio_from and ratio_to"),
        (lambda: rw.place("barrel", "1mm", "4mm", keep=9), "keep 9 is not among at most 6"),
        (lambda: rw.plan("barrel", length="100mm"), "wire is missing"),
        (
            lambda: rw.plan("barrel", wire="1mm", inner="4mm", length="1dm", clasp_price=3.0),
            "clasp_price needs clasp; give the clasp's length too.",
        ),
        (lambda: rw.jig("ring-gauge", inner="4mm"), "the following arguments are required: wire"),
    ],
)
def test_who_calls_a_function_reads_of_its_parameters(call, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(BadInput) as error:
        call()
    assert said in str(error.value)
    assert "--" not in str(error.value).replace("'ringwright jig ring-gauge --help'", "")
