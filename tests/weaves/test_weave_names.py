"""Every name a weave goes by, and who calls it so; spellings; weaves that are not here."""

import json

import pytest

from ringwright.base.errors import BadInput
from ringwright.cli import main
from ringwright.weaves import (
    list_rules,
    load_rule,
    name_key,
    other_weave,
    other_weaves,
    rules_named_like,
)

# Who uses a name. Stored copies of the pages were read; addresses are given where known.
SOURCES = {
    "MAIL 12": "Box Chain 4 in 1, Maille Artisans International League, weave 12",
    "MAIL 13": "Byzantine (Byz), Maille Artisans International League, weave 13",
    "MAIL 52": "Half Persian 3 in 1, Maille Artisans International League, weave 52",
    "MAIL 109": "Blaise, Know Your Maille Terms, M.A.I.L. article 109",
    "MAIL 675": "Kinged weaves, M.A.I.L. article 675",
    "MAIL 731": "Phong, Jens Pind Linkage, M.A.I.L. article 731",
    "MAIL 755": "Half Persian Weaves, M.A.I.L. article 755",
    "MAIL 793": "Full Persian 6 in 1: Composition, M.A.I.L. article 793",
    "Gardiner 2": "Marilyn Gardiner, Mobius Flowers Earrings (marilyngardiner.com)",
    "Gardiner 3": "Marilyn Gardiner, Byzantine Earrings (marilyngardiner.com)",
    "Gardiner 4": "Marilyn Gardiner, Boxchain Earrings (marilyngardiner.com)",
    "Beading Gem": "Byzantine and Box Chain Maille Tutorials (beadinggem.com, February 2009)",
    "McLeod": "C. McLeod, Some Basic Mail Info (www3.sympatico.ca/c_mcleod/inside.htm)",
    "everything2": "boxchain (everything2.com/title/boxchain)",
    "Beadman barrel": "The Beadman, Barrel Chain Tutorial (thebeadman.com/free-instructions)",
    "Beadman Persian": "The Beadman, Persian Jump Ring Chain (thebeadman.com/free-instructions)",
    "Beadman channel": "The Beadman, Channel Jump Ring Chain (thebeadman.com/free-instructions)",
    "Lily Tree": "You've got (chain) maille (lily-tree.co.uk)",
    "Ring by Ring": "Chain Maille patterns (ringbyring.blogspot.com, 12 February 2009)",
    "In the Maille": "Weavin' 101: European 4-in-1 (inthemaille.blogspot.com, April 2010)",
    "Parker": "Chad Parker, Making Chainmail: Part 2 (users.frii.com/dnorris)",
    "Wolvesbane": "The 4 in 1, 6 in 1 and 8 in 1 Pattern (wolvesbaneacademy.xyz)",
    "Derakon": "Derakon, European Four in One (theringlord.org/derakoninstructions/euro4.html)",
    "Derakon round": "Derakon, Roundmaille (theringlord.org/derakoninstructions/round.html)",
    "Armored Drake": "Constructing Spiral 3:1, and Half Persian Braid Sheet (armored-drake.com)",
    "Kelly Persian": "Anne M. Kelly, Persian maille (annemkellydesigns.com)",
    "Kelly Japanese": "Anne M. Kelly, Japanese maille (annemkellydesigns.com)",
    "Phong helm": "Phong, Helm Chain (cgmaille.com/tutorials/helm.shtml)",
    "Metal and Mineral": "Helm Chain Tutorial (metalandmineral.wordpress.com/tag/helm)",
    "Art of Chainmail": "Hitoye-Gusari Mail (artofchainmail.com/patterns/japanese)",
    "Art of Chainmail spiral": "1 into 4 Spiral Chain (artofchainmail.com/patterns/miscellaneous)",
    "Iain Caradoc": "on gusari (iaincaradoc.org/gusari.html)",
    "Ferguson": "Diana Ferguson, Twist: Try a New Twist in the Japanese 4-in-1 (magazine project)",
    "Maillepedia": "2 in 1 Chain (chainmaillers.com/maillepedia/2-in-1-chain.1123)",
    "David Chain": "Single chain 1+1+1, double chain 2+2+2 (davidchain.com/supplies)",
    "Zili": "Basic Chain Maille Weaves: Taught as Progression (zili.de/maille/tut/basics.htm)",
    "Basket guide": "Weave Guide (chainmailbasket.com/weaveinfo.html)",
    "Gillyflower": "Chainmaille Mania, basic weaves (gillyflowerfaire.wordpress.com)",
    "Crafty Cristian": "Inverted Round Tutorial, its first steps (craftycristian.com)",
    "Moorish Rose": "Chainmaille 101: Moorish Rose, '6 ring mobius' (instructables.com)",
    "Joining HP4-1": "Theresa Olin, Joining Half Persian 4-1 (chainmaillers.com, resource 97)",
    "Urban Maille": "Aislyn Bryan, Jens Pind's Linkage (urbanmaille.com)",
    "Jord": "Steneby, a range of chains made by hand (jordinsweden.com): kungakedja, King's chain",
    "common": "common practice, no source",
}

NAMES = {
    "barrel": {"barrel weave": "Lily Tree", "barrel chain": "Beadman barrel"},
    "box-chain": {
        "box chain": "MAIL 12",
        "box": "MAIL 12",
        "box chain 4-in-1": "MAIL 12",
        "Queen's chain": "Gardiner 4",
        "Queen's link": "Gardiner 4",
        "Inca puno chain": "Beading Gem",
        "Inca puno": "Beading Gem",
        "King's braid": "McLeod",
        "idiot stitch": "everything2",
    },
    "byzantine": {
        "Byzantine": "MAIL 13",
        "Byz": "MAIL 13",
        "birdcage": "MAIL 13",
        "idiot's delight": "MAIL 13",
        "King's link": "Gardiner 3",
        "King's chain": "Jord",
        "Etruscan": "MAIL 13",
        "fool's dilemma": "MAIL 13",
        "idiot's trap": "MAIL 13",
        "bird's nest": "MAIL 13",
    },
    "byzantine-and-large": {},
    "double-spiral": {"double spiral": "Ring by Ring", "spiral 8-in-2": "common"},
    "european-4-in-1": {
        "European 4-in-1": "In the Maille",
        "Euro 4-in-1": "In the Maille",
        "E4-1": "In the Maille",
        "4-in-1": "Parker",
    },
    "european-4-in-1-strip-3": {
        "4-in-1 strip": "Wolvesbane",
        "European 4-in-1 strip": "common",
        "narrow European 4-in-1": "common",
        "unit chain": "Derakon",
    },
    "european-4-in-1-strip-5": {
        "five-row European 4-in-1": "common",
        "4-in-1 strip of five rows": "common",
    },
    "european-4-in-1-tube": {
        "European 4-in-1 tube": "common",
        "Euro 4-in-1 tube": "common",
        "4-in-1 rope": "common",
    },
    "european-4-in-1-two-gauges": {"mixed-gauge 4-in-1": "common"},
    "european-6-in-1": {
        "European 6-in-1": "MAIL 675",
        "Euro 6-in-1": "common",
        "E6-1": "Armored Drake",
        "6-in-1": "Wolvesbane",
    },
    "european-6-in-1-strip-3": {
        "6-in-1 strip": "Wolvesbane",
        "European 6-in-1 strip": "common",
        "narrow European 6-in-1": "common",
    },
    "european-8-in-1": {
        "European 8-in-1": "common",
        "Euro 8-in-1": "common",
        "E8-1": "common",
        "8-in-1": "Wolvesbane",
    },
    "five-ring-rosette": {"5-ring mobius": "Moorish Rose", "rosette of five": "common"},
    "full-persian-6-in-1": {
        "full Persian 6-in-1": "MAIL 793",
        "FP6-1": "MAIL 793",
        "full Persian": "Beadman Persian",
        "FP": "MAIL 755",
        "Persian 6-in-1": "Kelly Persian",
        "Persian chain": "Beadman Persian",
    },
    "half-persian-3-in-1": {
        "half Persian 3-in-1": "MAIL 52",
        "HP3-1": "MAIL 52",
        "HP3": "MAIL 52",
    },
    "half-persian-4-in-1": {
        "half Persian 4-in-1": "MAIL 755",
        "HP4-1": "Joining HP4-1",
        "HP4": "common",
    },
    "helm-chain": {
        "helm chain": "Phong helm",
        "helm": "Metal and Mineral",
        "parallel chain": "Phong helm",
    },
    "japanese-12-in-2": {
        "Japanese 12-in-2": "common",
        "J12-2": "common",
        "hana gusari": "Kelly Japanese",
    },
    "japanese-4-in-1": {
        "Japanese 4-in-1": "Ferguson",
        "J4-1": "common",
        "hitoye gusari": "Art of Chainmail",
        "hitoe gusari": "common",
        "so gusari": "Iain Caradoc",
    },
    "japanese-6-in-1": {"Japanese 6-in-1": "Gardiner 2", "J6-1": "common"},
    "japanese-8-in-2": {"Japanese 8-in-2": "MAIL 109", "J8-2": "common"},
    "japanese-flower": {},
    "large-and-small-chain": {},
    "long-byzantine": {},
    "mixed-gauge-chain": {},
    "one-in-one": {
        "1-in-1": "common",
        "2-in-1": "Maillepedia",
        "simple chain": "common",
        "single chain": "David Chain",
        "rolo chain": "common",
        "1-1-1": "David Chain",
    },
    "roundmaille": {"roundmaille": "Derakon round", "round maille chain": "Derakon round"},
    "spiral-3-in-1": {"spiral 3-in-1": "Armored Drake"},
    "spiral-4-in-1": {
        "spiral 4-in-1": "Armored Drake",
        "spiral chain": "Art of Chainmail spiral",
        "single spiral": "Ring by Ring",
        "1-into-4 spiral": "Art of Chainmail spiral",
    },
    "three-in-three": {"3-in-3": "Gillyflower", "6-in-3": "Basket guide", "triple chain": "common"},
    "three-quarter-persian": {
        "three-quarter Persian": "MAIL 755",
        "3/4 Persian": "Armored Drake",
        "3QP": "MAIL 755",
    },
    "three-ring-rosette": {"3-ring mobius": "Moorish Rose", "rosette of three": "common"},
    "tight-spiral": {
        "Jens Pind linkage": "MAIL 731",
        "Jens Pind's linkage": "Urban Maille",
        "Jens Pind": "MAIL 731",
        "JPL": "MAIL 731",
        "JPL3": "Urban Maille",
        "tight spiral": "MAIL 731",
    },
    "twisted-one-in-one": {
        "twisted 1-in-1": "common",
        "spiral 1-in-1": "common",
        "spiral 2-in-1": "Maillepedia",
    },
    "two-and-one": {
        "2-and-1 chain": "common",
        "1-2-1-2": "Beadman channel",
        "2-1-2": "Crafty Cristian",
    },
    "two-in-two": {
        "2-in-2": "Gillyflower",
        "4-in-2": "Zili",
        "double chain": "David Chain",
        "2-2-2": "David Chain",
    },
}


def refusal(name: str) -> str:
    with pytest.raises(BadInput) as caught:
        load_rule(name)
    return str(caught.value)


@pytest.mark.parametrize("rule", list_rules(), ids=lambda rule: rule.name)
def test_every_trade_name_of_a_rule_has_a_source(rule):
    assert set(rule.trade_names) == set(NAMES[rule.name])
    assert set(NAMES[rule.name].values()) <= set(SOURCES)


def test_no_name_means_two_weaves():
    keys = {}
    for rule in list_rules():
        for key in {name_key(name) for name in (rule.name, *rule.trade_names)}:
            assert keys.setdefault(key, rule.name) == rule.name, key
    for other in other_weaves():
        for key in {name_key(name) for name in other.names}:
            assert keys.setdefault(key, other.what) == other.what, key


@pytest.mark.parametrize(
    ("name", "weave"),
    [
        ("Queen's Chain", "box-chain"),
        ("queens chain", "box-chain"),
        ("QUEEN\N{RIGHT SINGLE QUOTATION MARK}S-LINK", "box-chain"),
        ("boxchain", "box-chain"),
        ("box weave", "box-chain"),
        ("Bird Cage", "byzantine"),
        ("byzantines", "byzantine"),
        ("byzantine chainmaille", "byzantine"),
        ("chain mail byzantine weave", "byzantine"),
        ("e4-1", "european-4-in-1"),
        ("e4in1", "european-4-in-1"),
        ("euro 4in1", "european-4-in-1"),
        ("European four in one", "european-4-in-1"),
        ("four-in-one sheets", "european-4-in-1"),
        ("European 4-in-1 sheet", "european-4-in-1"),
        ("4 in 1 european chainmail", "european-4-in-1"),
        ("6-in-1 Japanese", "japanese-6-in-1"),
        ("Japanese 12in2 sheet", "japanese-12-in-2"),
        ("4-in-1 spiral", "spiral-4-in-1"),
        ("4 in 1 half persian weave", "half-persian-4-in-1"),
        ("european 4-in-1 strips", "european-4-in-1-strip-3"),
        ("Euro 4:1", "european-4-in-1"),
        ("European 4-1 chainmail", "european-4-in-1"),
        ("E8-1", "european-8-in-1"),
        ("HP 3-1", "half-persian-3-in-1"),
        ("half persian three in one", "half-persian-3-in-1"),
        ("hp4in1", "half-persian-4-in-1"),
        ("full persian weave", "full-persian-6-in-1"),
        ("3/4 Persian", "three-quarter-persian"),
        ("\N{VULGAR FRACTION THREE QUARTERS} persian", "three-quarter-persian"),
        ("three quarters persian", "three-quarter-persian"),
        ("round mail", "roundmaille"),
        ("Round Maille", "roundmaille"),
        ("jpl", "tight-spiral"),
        ("Jens Pind's Linkages", "tight-spiral"),
        ("2 in 1 chain", "one-in-one"),
        ("two into two", "two-in-two"),
        ("1-2-1-2 chain", "two-and-one"),
        ("3-ring m\N{LATIN SMALL LETTER O WITH DIAERESIS}bius", "three-ring-rosette"),
        ("hitoye-gusari", "japanese-4-in-1"),
        ("japanese twelve in two", "japanese-12-in-2"),
    ],
)
def test_spellings_that_mean_the_same(name, weave):
    assert load_rule(name).name == weave


@pytest.mark.parametrize(
    "name",
    [
        *("chain", "weave", "chainmail", "chain mail weave", "double", "double weave", "persian"),
        *("persian weave", "round weave", "european", "japanese", "half persian", "spiral"),
        *("european 5 in 1", "european 41", "4 and 1", "half persian 31", "box chain box"),
        *("half persian 3 in 1 sheet", "box chain sheet", "sheet of 4 in 1"),
        *("./barrel", "barrel/", "barrel!", "bar.rel", "s", "in", "link", "sheet", "e", "4"),
    ],
)
def test_what_is_no_name_finds_nothing(name):
    with pytest.raises(BadInput):
        load_rule(name)
    assert other_weave(name) is None


@pytest.mark.parametrize("other", other_weaves(), ids=lambda other: other.names[0])
def test_a_weave_that_is_not_here_says_which_come_near(other):
    assert other.source
    for near in other.near:
        assert load_rule(near).name == near
    for name in other.names:
        message = refusal(name)
        assert "is a weave that ringwright does not have" in message
        assert all(near in message for near in other.near)
        assert "no weave is called" not in message


@pytest.mark.parametrize("name", ["Dragon Scales", "kings mail", "dragonscale chainmaille weave"])
def test_spellings_of_weaves_that_are_not_here(name):
    assert other_weave(name) is not None


def test_weaves_are_found_by_letters_of_any_name():
    def names(text):
        return {rule.name for rule in rules_named_like(text)}

    assert names("queen") == {"box-chain"}
    assert names("bird") == {"byzantine"}
    assert "european-4-in-1" in names("Euro 4 in") & names("euro 4") & names("4-in-1 eu")
    assert "tight-spiral" in names("spiral")
    assert names("box chain weave") == {"box-chain"}
    assert len(names("")) == len(list_rules())
    assert names("xyz") == set()


def test_the_list_of_weaves_can_be_asked_for_one(capsys):
    assert main(["weaves", "Queen's", "chain", "--json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)["weaves"]
    assert found["weave"] == "box-chain"
    assert main(["weaves", "dragonscale"]) == 2
    assert "helm-chain comes near" in capsys.readouterr().err


@pytest.mark.parametrize(
    "command",
    [
        ["check", "NAME", "--wire", "1mm", "--inner", "5mm"],
        ["limits", "NAME", "--wire", "1mm", "--inner", "5mm"],
        ["place", "NAME", "--wire", "1mm", "--inner", "5mm", "--out", "x/y"],
        ["match", "NAME", "--shop", "shop.toml", "--length", "18cm"],
        ["plan", "NAME", "--wire", "1mm", "--inner", "5mm", "--length", "18cm", "--out", "x/y"],
        ["sweep", "NAME", "--ratio-from", "4", "--ratio-to", "5", "--out", "x/y"],
        ["gallery", "NAME", "--out", "x"],
    ],
    ids=lambda command: command[0],
)
def test_every_command_knows_the_weaves_that_are_not_here(command, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["dragonscale" if word == "NAME" else word for word in command]) == 2
    assert "is a weave that ringwright does not have" in capsys.readouterr().err
