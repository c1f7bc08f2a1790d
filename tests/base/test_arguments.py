"""What is said of a word that a command does not know."""

import pytest

from ringwright.base.arguments import Parser
from ringwright.base.errors import BadInput


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("chek", "argument STEP: 'chek' is not known; perhaps check is meant; see 'bench --help'."),
        ("saw", "'saw' is not known; expected one of wind, check, weave"),
        ("weav" * 100, f"'{'weav' * 10}' is not known"),
    ],
)
def test_a_misspelt_word_is_answered_with_the_nearest_or_with_all(typed, said):
    parser = Parser(prog="bench")
    parser.add_argument("step", metavar="STEP", choices=("wind", "check", "weave"))
    assert parser.parse_args(["check"]).step == "check"
    with pytest.raises(BadInput) as error:
        parser.parse_args([typed])
    assert said in error.value.typed
