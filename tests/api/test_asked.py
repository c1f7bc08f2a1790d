"""What a piece is worn on: read with its unit, one at a time, of a size that somebody has."""

import pytest

from ringwright.api.asked import asked_state
from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.weaves import load_rule
from ringwright.weaves.rest_states import WORN


def worn(weave="barrel", **given):
    return asked_state(load_rule(weave), "worn", **given)


def test_a_usual_wrist_where_nothing_is_given():
    assert worn() == WORN
    assert (WORN.body.girth_mm, WORN.body.ratio) == (defaults.WRIST_MM, defaults.OVAL)


def test_what_is_given_is_what_it_is_worn_on():
    body = worn(wrist="15.5 cm", oval="1.2").body
    assert (body.part, body.girth_mm, body.ratio) == ("wrist", 155.0, 1.2)
    # Fingers and necks are taken as round.
    assert (worn(finger="52mm").body.part, worn(finger="52mm").body.ratio) == ("finger", 1.0)
    assert worn(neck="37cm").said == "worn round a neck of 370 mm"


@pytest.mark.parametrize(
    ("weave", "given", "said"),
    [
        ("barrel", {"wrist": "160mm", "finger": "50mm"}, "both given"),
        ("barrel", {"wrist": "160"}, "no unit"),
        ("barrel", {"neck": "3m"}, "not between 40 and 600 mm"),
        ("barrel", {"neck": "370mm", "oval": 1.2}, "taken as round"),
        ("barrel", {"oval": "flat"}, "not between 1 and 2"),
        ("european-4-in-1", {"neck": "370mm"}, "not worn as a necklace"),
        ("japanese-flower", {}, "is not for japanese-flower"),
    ],
)
def test_one_sentence_where_it_cannot_be(weave, given, said):
    with pytest.raises(BadInput, match=said):
        worn(weave, **given)


def test_what_is_not_worn_is_worn_on_nothing():
    with pytest.raises(BadInput, match="add laid worn"):
        asked_state(load_rule("barrel"), "on-table", wrist="160mm")
