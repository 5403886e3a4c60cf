"""The two clocks."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from companion.clocks import RealClock, SimulatedClock

START = datetime(2030, 3, 4, 8, 0, tzinfo=UTC)


def test_simulated_time_passes_only_when_told() -> None:
    clock = SimulatedClock(START)
    assert (clock.now_ms(), clock.utc()) == (0, START)
    clock.wait_ms(1500)
    clock.advance(250)
    assert clock.now_ms() == 1750
    assert clock.utc() == START + timedelta(milliseconds=1750)


def test_simulated_time_never_goes_back() -> None:
    clock = SimulatedClock(START)
    clock.advance(-5)
    clock.wait_ms(-5)
    assert clock.now_ms() == 0


def test_a_start_in_another_zone_is_shown_in_utc() -> None:
    clock = SimulatedClock(datetime(2030, 3, 4, 10, 0, tzinfo=timezone(timedelta(hours=2))))
    assert clock.utc() == START
    assert clock.utc().tzinfo is UTC


def test_a_start_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="zone"):
        SimulatedClock(datetime(2030, 3, 4, 8, 0))


def test_the_real_clock_goes_forward_and_knows_utc() -> None:
    clock = RealClock()
    before = clock.now_ms()
    clock.wait_ms(5)
    assert clock.now_ms() - before >= 5
    assert abs(clock.utc() - datetime.now(UTC)) < timedelta(seconds=5)
