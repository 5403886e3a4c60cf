"""Dates and times that decide whether a medicine may be given: opened on, expiry, and when it is due."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final, Literal

from companion.errors import DoseError

DAYS_ONCE_OPENED: Final = 28
"""A multi-dose vial is discarded this many days after the first puncture unless the maker says otherwise (USP 797)."""


def discard_on(opened: date, expiry: date | None = None, days: int = DAYS_ONCE_OPENED) -> date:
    """The day to throw an opened vial away: `days` after opening, or its expiry where that comes first.

    Raises DoseError where `days` is not above zero or the vial was opened after it had expired.
    """
    if days <= 0:
        raise DoseError(f"a vial cannot keep {days} days once opened; accepted: 1 or more")
    if expiry is not None and opened > expiry:
        raise DoseError(f"the vial was opened on {opened}, after its expiry on {expiry}; discard it")
    try:
        discard = opened + timedelta(days=days)
    except OverflowError as error:
        raise DoseError(f"{days} days after {opened} is past the end of the calendar") from error
    return discard if expiry is None else min(discard, expiry)


def oldest_opening(days: int) -> int:
    """The first day of opening, in days from today, after which what keeps `days` days is not to be discarded yet."""
    return 1 - days


def why_not_usable(
    today: date, expiry: date, opened: date | None = None, *, sealed: bool = False, days: int = DAYS_ONCE_OPENED
) -> str | None:
    """Why a vial may not be used today, in one sentence, or None.

    Through its expiry day it may; from the discard day on it may not; opened without a date it may not (WHO toolkit,
    from memory).
    """
    if today > expiry:
        return f"It expired on {expiry}: discard it."
    if sealed:
        return None
    if opened is None:
        return "It is open and not dated: discard it."
    if opened > today:
        return f"The opening date {opened} has not come yet: ask who wrote it, and do not use it."
    if (opened - today).days < oldest_opening(days):
        day = discard_on(opened, None, days)
        return f"It was opened on {opened}, and its day to be discarded is {day}: discard it."
    return None


@dataclass(frozen=True)
class Timing:
    """Where a time lies in the window around the time due; `minutes` is how far from the time due, never negative."""

    verdict: Literal["early", "due", "late"]
    minutes: int

    def words(self) -> str:
        """A sentence to show or say."""
        amount = f"{self.minutes} minute{'' if self.minutes == 1 else 's'}"
        if self.verdict == "due":
            return "It is due now."
        side = "before" if self.verdict == "early" else "after"
        return f"It is too {self.verdict}: {amount} {side} the time due."


def due(at: datetime, now: datetime, before: int, after: int) -> Timing:
    """Whether `now` lies from `before` minutes before `at` to `after` minutes after it, both ends within.

    Raises DoseError where a width is negative or only one of the times has a time zone.
    """
    if before < 0 or after < 0:
        raise DoseError(f"the window {before} minutes before to {after} after is negative; accepted: 0 or more")
    if (at.tzinfo is None) != (now.tzinfo is None):
        raise DoseError("the time due and the time now must both have a time zone, or neither")
    gap = now - at
    minutes = int(abs(gap) // timedelta(minutes=1))
    if gap < -timedelta(minutes=before):
        return Timing("early", minutes)
    return Timing("late" if gap > timedelta(minutes=after) else "due", minutes)
