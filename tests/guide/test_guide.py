"""The guide: its topics, and how they are found and printed."""

import re

import pytest

from ringwright.base.errors import BadInput
from ringwright.cli import main
from ringwright.guide.topics import NAMES, topic, topics
from tests.tools.source_tree import ROOT
from tests.tools.written_for_makers import GUIDE, README, blocks, texts


def test_every_file_is_a_topic():
    assert sorted(path.stem for path in GUIDE.glob("*.md")) == sorted(NAMES)


@pytest.mark.parametrize("one", topics(), ids=lambda one: one.name)
def test_a_topic_begins_with_its_title_and_a_line_that_fits_the_list(one):
    assert one.text.startswith(f"# {one.title}\n\n{one.summary}\n\n")
    assert one.summary.endswith(".")
    assert len(f"{one.name:12} {one.summary}") <= 80


def test_topics_lead_only_to_topics():
    """What is said of a topic is "see *sizes*", or in a table its name alone in a cell."""
    for path in texts().values():
        text = path.read_text(encoding="utf-8")
        for name in re.findall(r"see\s+\*([\w-]+)\*|\| \*([\w-]+)\* \|", text):
            assert "".join(name) in NAMES, (path.name, name)


def test_a_topic_goes_by_name_or_title_in_any_spelling():
    assert topic("own-weaves") == topic("Own Weaves") == topic("your own weaves")
    assert topic("will it close").name == "verdicts"


def test_a_wrong_topic_is_answered_with_those_that_there_are(capsys):
    with pytest.raises(BadInput, match="no topic 'xyz'"):
        topic("xyz")
    assert main(["guide", "xyz"]) == 2
    said = capsys.readouterr().err
    assert all(name in said for name in NAMES)
    assert said.count("\n") == 1


def test_a_word_that_is_no_topic_is_answered_with_where_it_stands(capsys):
    assert main(["guide", "springback"]) == 2
    said = capsys.readouterr().err
    assert "rings" in said
    assert "safety" not in said


def test_without_a_topic_all_are_listed(capsys):
    assert main(["guide"]) == 0
    said = capsys.readouterr().out
    for one in topics():
        assert re.search(rf"^{one.name} +{re.escape(one.summary)}$", said, re.MULTILINE)


def test_a_pipe_gets_the_text_as_it_stands(capsys):
    assert main(["guide", "own", "weaves"]) == 0
    assert capsys.readouterr().out == topic("own-weaves").text


@pytest.mark.parametrize("one", topics(), ids=lambda one: one.name)
def test_a_terminal_gets_it_laid_out(one, capsys, monkeypatch):
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "72")
    assert main(["guide", one.name]) == 0
    said = re.sub(r"\x1b\[[\d;]*m", "", capsys.readouterr().out)
    assert "```" not in said
    assert "|---" not in said
    assert one.title in said
    code = [line for block in blocks(GUIDE / f"{one.name}.md") for line in block.text.splitlines()]
    lines = [line.rstrip() for line in said.splitlines()]
    assert set(map(str.rstrip, code)) <= set(lines)
    assert max(map(len, set(lines) - set(code))) <= 72


def test_the_readme_is_short_and_names_every_topic():
    text = README.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 150
    for link in re.findall(r"\]\(([^)]+)\)", text):
        assert (ROOT / link).is_file(), link
    for name in NAMES:
        assert f"(generator/guide/{name}.md)" in text
