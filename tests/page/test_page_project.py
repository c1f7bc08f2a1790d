"""The project file of the bench: there and back, and nothing but a project file."""

import re
from dataclasses import fields, replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.base.errors import BadInput
from ringwright.base.paper import PAPERS
from ringwright.jigs import JIGS
from ringwright.page.files.command_lines import TOPICS, jig_options
from ringwright.page.files.project_file import project_from_text, project_text
from ringwright.page.state.chosen import BY_ROLE, Wanted
from ringwright.page.state.file_settings import ENDS, METALS, SCALES, Settings
from ringwright.page.state.project import Project
from ringwright.page.state.units import MM

OWN = (Path(__file__).parents[1] / "rules" / "hopf.toml").read_text()
LINES = st.text(st.characters(exclude_categories=["C", "Z"], include_characters=" "), max_size=60)
# Any text a file can hold, with much of what has to be escaped and of lines that are long.
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=60) | st.lists(
    st.sampled_from(['"', "\\", " ", "\t", "\r\n", "\n", "\x7f", "\0", '"""', "é" * 450, " " * 99]),
    max_size=30,
).map("".join)
FREE = [one.name for one in fields(Wanted) if one.default == "" or one.name in ("wire", "inner")]
WANTED = st.builds(
    lambda weave, paint, texts: replace(Wanted(), weave=weave, paint=paint, **texts),
    st.sampled_from(["barrel", "test pair", "one-in-one"]),
    st.sampled_from([BY_ROLE, "copper", "open=copper,closed=brass"]),
    st.fixed_dictionaries(dict.fromkeys(FREE, LINES)),
)


def options_of(name: str) -> st.SearchStrategy[dict[str, str]]:
    kinds = {
        one.name: LINES.filter(bool)
        if one.kind == "text"
        else st.sampled_from(one.choices or ("yes",))
        for one in jig_options(name)
    }
    return st.fixed_dictionaries({}, optional=kinds).map(lambda d: dict(sorted(d.items())))


SETTINGS = st.builds(
    Settings,
    paper=st.sampled_from(tuple(PAPERS)),
    clasp=LINES,
    spares=LINES,
    ends=st.sampled_from(ENDS),
    anneal=st.sampled_from(["", "yes"]),
    metals=st.sampled_from(METALS),
    grid=TEXTS,
    legend=LINES,
    scale=st.sampled_from(SCALES),
    teaching=st.sampled_from(["", "yes"]),
    bed=LINES,
    clearance=LINES,
    jig=st.sampled_from(list(JIGS)),
    jigs=st.fixed_dictionaries({}, optional={name: options_of(name) for name in JIGS}).map(
        lambda jigs: {name: options for name, options in sorted(jigs.items()) if options}
    ),
    bundle=st.lists(st.sampled_from(list(TOPICS)), unique=True).map(tuple),
)


@settings(max_examples=40)
@given(
    st.builds(
        Project, WANTED, st.lists(WANTED, max_size=3).map(tuple), st.just(OWN), TEXTS, SETTINGS
    )
)
def test_a_project_comes_back_as_it_was_saved(project: Project) -> None:
    text = project_text(project)
    assert project_from_text(text) == project
    assert project_text(project_from_text(text)) == text
    # A file by another program's line ends says the same.
    assert project_from_text(text.replace("\n", "\r\n")) == project


PLAIN = project_text(Project(Wanted(), (), "", "", Settings()))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("format = 1", "format = 2", "format is 2"),
        ("format = 1", "farmat = 1", "farmat is an unknown key: perhaps format"),
        ('weave = "barrel"', 'weave = "barel"', "no weave is called 'barel'"),
        ('weave = "barrel"', 'weave = "../barrel.toml"', "no weave is called"),
        ('weave = "barrel"', 'weaves = "barrel"', "piece.weaves is an unknown key"),
        ('wire = "0.9mm"', "wire = 0.9", "wire is 0.9, expected a line of at most 60"),
        ('wire = "0.9mm"', f'wire = "{"9" * 61}"', "expected a line of at most 60"),
        (f'wires = "{MM}"', 'wires = "ells"', "ells"),
        ('paper = "A4"', 'paper = "A3"', 'expected "A4" or "letter"'),
        ('bed = ""', 'bad = ""', "printer.bad is an unknown key: perhaps bed"),
        ('"ring-gauge"', '"ring-gage"', "looked_at is 'ring-gage'"),
        ("[printer]", '[jigs.winding-guide]\nhand = "third"\n[printer]', 'expected "right" or'),
        ("[printer]", '[jigs.winding-guide]\nfile = "x"\n[printer]', "file is an unknown key"),
        ("[printer]", "[weave]\ntext = 'name = 1'\n[printer]", "weave file"),
        ("[printer]", "[shop]\ntext = 1\n[printer]", "shop.text is 1"),
    ],
)
def test_what_is_no_project_is_refused_with_a_sentence(old: str, new: str, said: str) -> None:
    assert old in PLAIN
    with pytest.raises(BadInput, match=re.escape(said)):
        project_from_text(PLAIN.replace(old, new, 1))


def test_a_rule_of_a_known_name_and_a_file_that_is_too_long_are_refused() -> None:
    barrel = (Path(__file__).parents[2] / "weaves" / "barrel.toml").read_text()
    with pytest.raises(BadInput, match="choose a name of its own"):
        project_from_text(project_text(Project(Wanted(), (), barrel, "", Settings())))
    with pytest.raises(BadInput, match="has at most"):
        project_from_text(PLAIN + "# more\n" * 120_000)
