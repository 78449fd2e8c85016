"""Ages from the code on the wall."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.tyres.inventory import age_years, code_question, made_in


def test_week_one_is_the_first_full_week_and_not_the_iso_week() -> None:
    # 49 CFR 574.5: weeks Sunday to Saturday, 01 the first full one. First Sunday of 2024: 7 January (calendar).
    made = made_in("0124")
    assert made is not None
    assert made.first_day == date(2024, 1, 7)
    assert made.first_day != date.fromisocalendar(2024, 1, 1)


@given(st.integers(2000, 2099), st.integers(1, 52))
def test_every_week_starts_on_a_sunday_of_its_year_seven_days_after_the_last(year: int, week: int) -> None:
    made = made_in(f"{week:02d}{year % 100:02d}")
    assert made is not None
    assert (made.year, made.week) == (year, week)
    assert made.first_day.isoweekday() == 7
    assert made.first_day - timedelta(weeks=week) < date(year, 1, 1) <= made.first_day


def test_week_53_only_where_the_year_has_one() -> None:
    assert made_in("5323") is not None  # Sunday 31 December 2023 (calendar)
    assert made_in("5324") is None
    assert made_in("5424") is None
    assert made_in("0024") is None


def test_the_code_is_read_out_of_the_whole_number() -> None:
    # 13 symbols: 49 CFR 574.5(a)(1), as in 80 FR 19553.
    for text in ("1ABCDEFGH2319", "DOT 1AB CDEFGH 2319", "2319", " 2319 "):
        made = made_in(text)
        assert made is not None, text
        assert (made.week, made.year) == (23, 2019)


@pytest.mark.parametrize("code", ["239", "DOT AB CD 239"])
def test_three_digits_are_asked_about_and_not_guessed(code: str) -> None:
    assert made_in(code) is None
    assert age_years(code, date(2026, 5, 9)) is None
    question = code_question(code, date(2026, 5, 9))
    assert question is not None
    assert "three digits" in question
    assert "leading zero" in question


def test_blank_asks_nothing_and_a_future_code_is_asked_about() -> None:
    assert code_question(None, date(2026, 5, 9)) is None
    assert code_question("1026", date(2026, 5, 9)) is None
    assert "after the event" in (code_question("3026", date(2026, 5, 9)) or "")
    assert "four digits" in (code_question("summer", date(2026, 5, 9)) or "")


def test_age() -> None:
    # From Sunday 7 January 2024 to 9 May 2026: 853 days (calendar).
    assert age_years("0124", date(2026, 5, 9)) == pytest.approx(853 / 365.25)
