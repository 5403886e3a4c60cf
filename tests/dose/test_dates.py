"""Opened on, expiry and the time due."""

from datetime import UTC, date, datetime, timedelta

import pytest

from companion.dose.dates import discard_on, due, why_not_usable
from companion.errors import DoseError
from companion.speech.calendar_words import end_of_month
from tests.dose.sources import COMMON, COMPUTED, USP, WHO


@pytest.mark.parametrize(
    ("opened", "expiry", "days", "discard", "source"),
    [
        ("2022-01-05", None, 28, "2022-02-02", USP),
        ("2024-02-01", None, 28, "2024-02-29", USP + ", leap year"),
        ("2023-02-01", None, 28, "2023-03-01", USP),
        ("2022-12-20", None, 28, "2023-01-17", USP),
        ("2022-01-05", None, 42, "2022-02-16", "the maker's own number of days"),
        ("2022-01-05", "2022-01-31", 28, "2022-01-31", "the expiry comes first"),
        ("2022-01-05", "2022-06-30", 28, "2022-02-02", USP),
    ],
)
def test_the_day_to_discard(opened: str, expiry: str | None, days: int, discard: str, source: str) -> None:
    last = None if expiry is None else date.fromisoformat(expiry)
    assert discard_on(date.fromisoformat(opened), last, days) == date.fromisoformat(discard), source


@pytest.mark.parametrize(
    ("today", "opened", "sealed", "says", "source"),
    [
        ("2022-02-01", "2022-01-05", False, None, USP),
        ("2022-02-02", "2022-01-05", False, "discard", USP),
        ("2022-06-30", "2022-06-20", False, None, COMMON + ": an expiry holds through its day"),
        ("2022-07-01", "2022-06-20", False, "expired", COMMON),
        ("2022-07-01", None, True, "expired", COMMON),
        ("2022-06-30", None, True, None, COMMON),
        ("2022-02-01", None, False, "not dated", WHO),
        ("2022-02-01", "2022-02-02", False, "not come yet", COMMON),
        ("2022-02-02", "2022-02-02", False, None, COMMON),
    ],
)
def test_whether_a_vial_may_be_used(
    today: str, opened: str | None, sealed: bool, says: str | None, source: str
) -> None:
    day = None if opened is None else date.fromisoformat(opened)
    why = why_not_usable(date.fromisoformat(today), date(2022, 6, 30), day, sealed=sealed)
    assert (why is None) == (says is None), source
    assert says is None or says in str(why)


def test_a_month_ends_on_its_last_day() -> None:
    assert end_of_month(2024, 2) == date(2024, 2, 29)  # the Gregorian calendar
    assert end_of_month(2100, 2) == date(2100, 2, 28)
    assert end_of_month(2022, 12) == date(2022, 12, 31)


@pytest.mark.parametrize(
    ("opened", "expiry", "days"),
    [("2022-01-05", None, 0), ("2022-01-05", None, -1), ("2022-01-05", "2022-01-04", 28), ("9999-12-31", None, 28)],
)
def test_dates_that_cannot_be_are_refused(opened: str, expiry: str | None, days: int) -> None:
    with pytest.raises(DoseError):
        discard_on(date.fromisoformat(opened), None if expiry is None else date.fromisoformat(expiry), days)


AT = datetime(2022, 1, 5, 23, 50, tzinfo=UTC)


@pytest.mark.parametrize(
    ("minutes", "verdict", "source"),
    [
        (-31, "early", COMMON + ": half an hour either way for a medicine given at a set time"),
        (-30, "due", COMMON),
        (0, "due", COMMON),
        (30, "due", COMPUTED + ": past midnight"),
        (31, "late", COMPUTED),
    ],
)
def test_the_window_around_the_time_due(minutes: int, verdict: str, source: str) -> None:
    found = due(AT, AT + timedelta(minutes=minutes), before=30, after=30)
    assert (found.verdict, found.minutes) == (verdict, abs(minutes)), source
    assert found.words().startswith("It is")


def test_a_second_past_the_window_is_late() -> None:
    assert due(AT, AT + timedelta(minutes=30, seconds=1), 30, 30).verdict == "late"


def test_a_window_that_cannot_be_is_refused() -> None:
    with pytest.raises(DoseError, match="negative"):
        due(AT, AT, -1, 30)
    with pytest.raises(DoseError, match="time zone"):
        due(AT, AT.replace(tzinfo=None), 30, 30)
