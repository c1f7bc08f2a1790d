"""The rule file that a maker starts from."""

import re
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.base.errors import BadInput
from ringwright.cli import main
from ringwright.weaves import checked_name, load_rule
from ringwright.weaves.starting import starting_text


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def refused(capsys, *arguments):
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    return err


def test_the_file_can_be_checked_at_once(here, capsys):
    assert main(["new-weave", "my chain"]) == 0
    assert "./my_chain.toml" in capsys.readouterr().out
    assert load_rule("./my_chain.toml").name == "my chain"
    assert main(["check", "./my_chain.toml", "--wire", "0.9mm", "--inner", "3.2mm"]) == 0
    # A chain of single rings: its repeat is two inner diameters (a closed form).
    assert "6.400 mm, 2 rings" in capsys.readouterr().out


def test_what_its_remarks_offer_is_read_once_the_marks_are_taken_away(here):
    text = starting_text("mine", "mine.toml")
    for line in ("[common_aspect_ratio]", "low =", "high =", "provenance =", "[[size]]", "name = "):
        assert f"\n# {line}" in text, line
    text = re.sub(r"(?m)^# (?=\[common|(low|high|provenance) = )", "", text)
    (here / "mine.toml").write_text(text)
    assert load_rule("./mine.toml").common_aspect_ratio.provenance == "from memory"


def test_no_file_is_overwritten(here, capsys):
    (here / "mine.toml").write_text("mine")
    assert "exists already" in refused(capsys, "new-weave", "mine")
    (here / "gone.toml").symlink_to(here / "nowhere")
    assert "exists already" in refused(capsys, "new-weave", "mine", "--out", "gone.toml")
    assert (here / "mine.toml").read_text() == "mine"
    assert sorted(path.name for path in here.iterdir()) == ["gone.toml", "mine.toml"]


def test_it_goes_where_it_is_asked_to(here):
    assert main(["new-weave", "mine", "--out", "rules/one.toml"]) == 0
    assert load_rule("rules/one.toml").name == "mine"


@pytest.mark.parametrize("out", ["", "mine", "mine.txt", "a\nb.toml", "/"])
def test_a_file_that_check_would_not_take_is_refused(here, capsys, out):
    assert "let it end in .toml" in refused(capsys, "new-weave", "mine", "--out", out)


def test_the_name_of_a_shipped_weave_is_refused(here, capsys):
    assert "choose a name of its own" in refused(capsys, "new-weave", "One in one")


@settings(derandomize=True, deadline=None)
@given(name=st.text(max_size=50) | st.from_regex(r"[\w -]{1,40}", fullmatch=True))
def test_any_name_is_refused_or_read_back(name):
    try:
        text = starting_text(name, "mine.toml")
    except BadInput:
        with pytest.raises(BadInput, match="name") as refusal:
            checked_name(name)
        assert str(refusal.value).isprintable()
    else:
        assert tomllib.loads(text)["name"] == name
