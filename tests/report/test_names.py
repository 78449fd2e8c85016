"""Rivals under letters: in tables by label, in free text by name and by a number that is said to be one."""

from __future__ import annotations

import pytest

from paddock.engine.share.names import Names
from tests import factories


def _names(shown: bool = False) -> Names:
    entries = [
        factories.entrant("31", driver="Robin Vale"), factories.entrant("44", driver="Jo Ashby Marsh"),
        factories.entrant("4", driver="Kit O'Dell"), factories.entrant("7", driver="Robin Reed"),
        factories.entrant("9", driver=None),
    ]  # fmt: skip
    return Names(factories.event(entries, []), shown)


def test_mine_by_name_rivals_by_letter_in_the_files_order() -> None:
    names = _names()
    assert names.label("31") == "31 Robin Vale"
    assert [names.label(number) for number in ("44", "4", "7", "9", "no such")] == [
        "rival A", "rival B", "rival C", "rival D", "a rival",
    ]  # fmt: skip
    assert _names(shown=True).label("44") == "44 Jo Ashby Marsh"
    assert _names(shown=True).label("9") == "9"


@pytest.mark.parametrize(
    ("text", "cleaned"),
    [
        ("Jo Ashby Marsh changes nothing", "rival A changes nothing"),
        ("jo  ashby marsh", "rival A"),
        ("ask Marsh, then Kit O'Dell", "ask rival A, then rival B"),
        ("ODELL? no", "ODELL? no"),
        ("44 says she changes nothing", "rival A says she changes nothing"),
        ("quick. 44 was quicker", "quick. rival A was quicker"),
        ("car 44 and #4 and no. 7", "rival A and rival B and rival C"),
        ("44 psi at the rear. 4 mm out; 7 clicks", "44 psi at the rear. 4 mm out; 7 clicks"),
        ("set 44.5, was 4 and 44", "set 44.5, was 4 and 44"),
        ("run 7 in number 44.5", "run 7 in number 44.5"),
        ("Robin was happy; Reed not", "Robin was happy; rival C not"),
        ("Marshall is no rival", "Marshall is no rival"),
        ("", ""),
    ],
)
def test_free_text(text: str, cleaned: str) -> None:
    assert _names().clean(text) == cleaned


def test_shown_names_leave_the_text_alone() -> None:
    assert _names(shown=True).clean("44 and Marsh") == "44 and Marsh"
    assert _names().clean(None) == ""


def test_letters_go_on_after_z() -> None:
    entries = [factories.entrant(f"{number}") for number in range(100, 160)]
    names = Names(factories.event(entries, []))
    labels = [names.label(f"{number}") for number in range(100, 160)]
    assert (labels[0], labels[25], labels[26], labels[52]) == ("rival A", "rival Z", "rival AA", "rival BA")
    assert len(set(labels)) == 60


def test_an_event_without_rivals_or_names() -> None:
    alone = Names(factories.event([factories.entrant("31")], []))
    assert alone.clean("car 31 and 44") == "car 31 and 44"
