"""What was chosen, moment after moment, and where on the page: as values, without a browser."""

from dataclasses import fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.page.panels.compare_panel import differ
from ringwright.page.state.chosen import Wanted, from_query
from ringwright.page.state.file_settings import Settings
from ringwright.page.state.history import MOST_CHARACTERS, MOST_KEPT, History, Moment
from ringwright.page.state.place import Place, place_from_query, place_of
from ringwright.page.state.project import Project, settings_change, wanted_change

EMPTY = Project(Wanted(), (), "", "", Settings())
BEGUN = History((Moment(EMPTY),))


def shop(text: str) -> Project:
    return replace(EMPTY, shop_text=text)


@settings(deadline=None)
@given(st.lists(st.sampled_from(["put a", "put b", "undo", "redo"]), max_size=30))
def test_undo_and_redo_lead_through_what_was(steps: list[str]) -> None:
    history, before, after = BEGUN, [""], []
    for step in steps:
        if step == "undo":
            history = history.undone()
            if len(before) > 1:
                after.append(before.pop())
        elif step == "redo":
            history = history.redone()
            if after:
                before.append(after.pop())
        elif step[-1] != before[-1]:
            history, after = history.put(shop(step[-1]), step), []
            before.append(step[-1])
        assert history.now.project.shop_text == before[-1]
        assert bool(history.undoes) == (len(before) > 1)
        assert bool(history.redoes) == bool(after)
        serials = [one.serial for one in history.moments]
        assert sorted(set(serials)) == serials
        assert history.at(serials[0]) == replace(history, place=0)


def test_ten_different_things_are_undone_one_by_one_and_done_again() -> None:
    wanted, settings = EMPTY.wanted, EMPTY.settings
    done = [
        replace(EMPTY, wanted=replace(wanted, weave="byzantine")),
        replace(EMPTY, wanted=replace(wanted, wire="1mm")),
        replace(EMPTY, wanted=replace(wanted, mandrel="3.2mm")),
        replace(EMPTY, wanted=replace(wanted, metal="brass")),
        replace(EMPTY, wanted=replace(wanted, paint="copper")),
        replace(EMPTY, wanted=replace(wanted, view="whole")),
        replace(EMPTY, beside=(wanted,)),
        replace(EMPTY, rule_text="a rule"),
        replace(EMPTY, shop_text="a shop"),
        replace(EMPTY, settings=settings.with_jig_option("winding-guide", "hand", "left")),
    ]
    history = BEGUN
    for place, one in enumerate(done):
        history = history.put(one, f"thing {place}")
    for place, one in reversed(list(enumerate(done))):
        assert (history.now.project, history.undoes) == (one, f"thing {place}")
        history = history.undone()
    assert (history.now.project, history.undoes) == (EMPTY, "")
    for place, one in enumerate(done):
        assert history.redoes == f"thing {place}"
        history = history.redone()
        assert history.now.project == one


def test_what_is_dragged_is_one_change_and_none_where_it_comes_back() -> None:
    history = BEGUN.put(shop("a"), "a").put(shop("b"), "b").put(shop("c"), "c", goes_on=True)
    assert [one.project.shop_text for one in history.moments] == ["", "a", "c"]
    assert history.undoes == "c"
    assert history.put(shop("a"), "a", goes_on=True).moments == history.moments[:2]
    # What was undone meanwhile is not gone on with.
    assert BEGUN.put(shop("a"), "a", goes_on=True).undoes == "a"
    back = history.undone()
    assert [one.why for one in back.put(shop("d"), "d", goes_on=True).moments] == ["", "a", "d"]


def test_a_number_is_never_given_twice() -> None:
    history = BEGUN.put(shop("a"), "a")
    gone = history.now.serial
    history = history.undone().put(shop("b"), "b")
    assert history.at(gone) is None
    assert history.amended(shop("better")).undone().now == BEGUN.now


def test_what_was_is_kept_within_bounds() -> None:
    history = BEGUN
    for n in range(2 * MOST_KEPT):
        history = history.put(shop(str(n)), "typed")
    assert len(history.moments) == MOST_KEPT
    for n in range(6):
        history = history.put(shop(str(n) * (MOST_CHARACTERS // 4)), "typed")
    assert sum(len(one.project.shop_text) for one in history.moments) <= MOST_CHARACTERS
    assert history.undone().now.project.shop_text.startswith("4")


def test_a_change_is_named_by_what_it_changes() -> None:
    wanted, settings = Wanted(), Settings()
    changes = {"wire": "1mm", "inner": "4mm", "paint": "copper", "kerf": "0.3mm"}
    said = [wanted_change(wanted, replace(wanted, **{name: to})) for name, to in changes.items()]
    assert said == ["wire 1mm", "inner diameter 4mm", "colours copper", "saw kerf 0.3mm"]
    assert wanted_change(replace(wanted, kerf="0.3mm"), wanted) == "no saw kerf"
    assert wanted_change(wanted, wanted) == settings_change(settings, settings) == ""
    assert settings_change(settings, replace(settings, paper="letter")) == "paper letter"
    jig = settings.with_jig_option("winding-guide", "hand", "left")
    assert settings_change(settings, jig) == "an option of the winding guide"


def test_figures_differ_where_they_are_known_and_not_the_same() -> None:
    assert differ(["1 mm", "2 mm", "1 mm"])
    assert not differ(["1 mm", "\u2013", "1 mm"])
    assert not differ(["being worked out", "in the working range"])
    assert not differ(["1 mm"])


@pytest.mark.parametrize("place", [Place(), place_of("Weave it"), Place("weave-it", 7)])
def test_an_address_leads_to_a_panel_and_a_step(place: Place) -> None:
    address = Wanted(weave="byzantine").query() + place.query()
    assert place_from_query(address) == place
    assert from_query(address).weave == "byzantine"


@pytest.mark.parametrize("step", ["-1", "x", "", "9" * 30, "0" * 5000 + "7", "\u00b2"])
def test_a_step_that_cannot_be_is_none(step: str) -> None:
    assert place_from_query(f"panel=weave-it&step={step}") == Place("weave-it")


@pytest.mark.parametrize("name", [field.name for field in fields(Wanted)])
def test_each_change_of_a_choice_has_words(name: str) -> None:
    assert wanted_change(EMPTY.wanted, replace(EMPTY.wanted, **{name: "something else"}))
