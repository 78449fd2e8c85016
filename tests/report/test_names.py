"""Rivals under letters: in tables by label, in free text by name and by a number that is said to be one."""

from __future__ import annotations

import pytest

from paddock.engine.share.names import Names
from tests import factories


def _names(shown: bool = False) -> Names:
    entries = [
        factories.entrant("26", driver="Corin Dale"), factories.entrant("45", driver="Jo Ashby Marsh"),
        factories.entrant("4", driver="Kit O'Dell"), factories.entrant("7", driver="Corin Reed"),
        factories.entrant("9", driver=None),
    ]  # fmt: skip
    return Names(factories.event(entries, []), shown)


def test_mine_by_name_rivals_by_letter_in_the_files_order() -> None:
    names = _names()
    assert names.label("26") == "26 Corin Dale"
    assert [names.label(number) for number in ("45", "4", "7", "9", "no such")] == [
        "rival A", "rival B", "rival C", "rival D", "a rival",
    ]  # fmt: skip
    assert _names(shown=True).label("45") == "45 Jo Ashby Marsh"
    assert _names(shown=True).label("9") == "9"


@pytest.mark.parametrize(
    ("text", "cleaned"),
    [
        ("Jo Ashby Marsh changes nothing", "rival A changes nothing"),
        ("jo  ashby marsh", "rival A"),
        ("ask Marsh, then Kit O'Dell", "ask rival A, then rival B"),
        ("ODELL? no", "ODELL? no"),
        ("45 says she changes nothing", "rival A says she changes nothing"),
        ("done. 45 other cars tell the course", "done. 45 other cars tell the course"),
        ("quick. 45 was quicker", "quick. rival A was quicker"),
        ("car 45 and #4 and no. 7", "rival A and rival B and rival C"),
        ("45 psi at the rear. 4 mm out; 7 clicks", "45 psi at the rear. 4 mm out; 7 clicks"),
        ("set 45.5, was 4 and 45", "set 45.5, was 4 and 45"),
        ("run 7 in number 45.5", "run 7 in number 45.5"),
        ("Corin was happy; Reed not", "Corin was happy; rival C not"),
        ("Marshall is no rival", "Marshall is no rival"),
        ("", ""),
    ],
)
def test_free_text(text: str, cleaned: str) -> None:
    assert _names().clean(text) == cleaned


def test_a_figure_at_its_start_is_a_pressure() -> None:
    names = _names()
    assert (names.clean("45 hot"), names.clean("45 cold")) == ("45 hot", "45 cold")
    assert names.written("45 wet. Jo Ashby Marsh, car 4") == "45 wet. rival A, rival B"


def test_shown_names_leave_the_text_alone() -> None:
    assert _names(shown=True).clean("45 and Marsh") == "45 and Marsh"
    assert _names().clean(None) == ""


def test_letters_go_on_after_z() -> None:
    entries = [factories.entrant(f"{number}") for number in range(100, 160)]
    names = Names(factories.event(entries, []))
    labels = [names.label(f"{number}") for number in range(100, 160)]
    assert (labels[0], labels[25], labels[26], labels[52]) == ("rival A", "rival Z", "rival AA", "rival BA")
    assert len(set(labels)) == 60


def test_an_event_without_rivals_or_names() -> None:
    alone = Names(factories.event([factories.entrant("26")], []))
    assert alone.clean("car 26 and 45") == "car 26 and 45"
