"""Events of the page."""

from ringwright.page.signal import Signal


def test_who_listens_is_told_in_order_and_what() -> None:
    said: list[str] = []
    busy: Signal[[str]] = Signal()
    busy.tell("nobody hears this")
    busy.listen(lambda what: said.append(f"first {what}"))
    busy.listen(lambda what: said.append(f"second {what}"))
    busy.tell("checking")
    assert said == ["first checking", "second checking"]
