"""The guide in parts: what a search finds, and how a topic looks as HTML."""

import re
from html.parser import HTMLParser

import pytest

from ringwright.guide.parts import as_html, find
from ringwright.guide.topics import NAMES, topic, topics


class _Seen(HTMLParser):
    """All tags, ids and links of a text, and its words outside of tags."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.leads_to: list[tuple[str, str]] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        told = dict(attrs)
        self.tags.append(tag)
        if "id" in told:
            self.ids.append(told["id"])
        if tag == "a":
            self.leads_to.append((told["href"], told["data-topic"]))

    def handle_data(self, data):
        self.words += data.split()


@pytest.mark.parametrize("one", topics(), ids=lambda one: one.name)
def test_all_words_of_a_topic_stand_in_its_html(one):
    seen = _Seen(as_html(one))
    assert {"h1", "h2"}.isdisjoint(seen.tags)
    assert seen.tags.count("h3") == 1
    # What is marked up in the text is words, signs of marking up, and bars of tables.
    letters = re.sub(r"[^A-Za-z0-9]", "", re.sub(r"(?m)^```\w*$", "", one.text))
    assert re.sub(r"[^A-Za-z0-9]", "", "".join(seen.words)) == letters


def test_links_lead_to_topics_that_begin_there():
    pages = {one.name: _Seen(as_html(one)) for one in topics()}
    leads_to = [link for page in pages.values() for link in page.leads_to]
    assert len(leads_to) > 20
    for address, name in leads_to:
        assert address == f"#{pages[name].ids[0]}"
    ids = [one for page in pages.values() for one in page.ids]
    assert len(ids) == len(set(ids))


def test_every_topic_is_found_by_its_title():
    for one in topics():
        assert one.name in {found.part.topic for found in find(one.title)}, one.name


def test_what_is_found_has_all_words_and_shows_the_first():
    found = find("SPRING kerf")
    assert found
    for one in found:
        said = " ".join((one.part.heading, *one.part.passages)).casefold()
        assert "spring" in said
        assert "kerf" in said
        assert "spring" in one.around.casefold()
        assert one.part.anchor in _Seen(as_html(topic(one.part.topic))).ids
    assert {one.part.topic for one in found} >= {"plan"}


def test_words_are_found_by_their_beginning_and_without_a_plural():
    assert find("strangl")[0].part.topic in NAMES
    assert find("mandrel") == find("mandrels") != ()
    assert find("andrel") == ()


def test_headings_come_first():
    headings = [bool(re.search("nickel", one.part.heading, re.I)) for one in find("nickel")]
    assert headings[0]
    assert headings == sorted(headings, reverse=True)


@pytest.mark.parametrize("wanted", ["", "  ", "?", "xyzzy", "mandrel xyzzy"])
def test_nothing_is_found_of_what_is_not_there(wanted):
    assert find(wanted) == ()
