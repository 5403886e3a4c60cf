"""No note that was acknowledged is lost, whenever the power goes."""

from pathlib import Path
from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.errors import RecordError
from companion.sites import ZONES
from companion.sites.grid import spots
from companion.sites.kept.books import SiteBooks
from companion.sites.settings import SiteSettings
from tests.record.weak_disk import LyingDisk, PowerOut, WeakDisk
from tests.sites.making import clock, places_of

SPOTS = [place for zone in ZONES for part in zone.area.parts for place in spots(zone, part, SiteSettings())]


class Lost(Exception):
    """An acknowledged note is gone."""


def live_through(disk: WeakDisk) -> None:
    """Begin a history, note thirty injections, lose the power six times."""
    ours = SiteBooks(Path("/sites"), clock(), disk)
    random = disk.random
    tag = ""
    acknowledged: list[str] = []
    while len(acknowledged) < 30:
        disk.out_at = random.randrange(1, 20) if disk.losses < 6 else -1
        try:
            tag = tag or ours.new()
            while len(acknowledged) < 30:
                place = random.choice(SPOTS)
                ours.use(tag, place)
                acknowledged.append(place.code)
        except PowerOut:
            disk.lose_power()
        if tag:
            acknowledged = still_there(ours, tag, acknowledged)


def still_there(ours: SiteBooks, tag: str, acknowledged: list[str]) -> list[str]:
    """What the file holds now: all that was acknowledged, and at most one note more."""
    try:
        there = places_of(ours.read(tag))
    except RecordError as fault:
        raise Lost(str(fault)) from fault
    if there[: len(acknowledged)] != acknowledged or len(there) > len(acknowledged) + 1:
        raise Lost(f"{acknowledged} were acknowledged, {there} are there")
    return there


def test_power_losses_lose_nothing() -> None:
    losses = 0

    @settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.integers(0, 2**32))
    def run(seed: int) -> None:
        nonlocal losses
        disk = WeakDisk(Random(seed))
        live_through(disk)
        losses += disk.losses

    run()
    assert losses >= 150


def test_a_disk_that_lies_about_syncing_is_noticed() -> None:
    # Without this the test above could not fail
    noticed = 0
    for seed in range(30):
        try:
            live_through(LyingDisk(Random(seed)))
        except Lost:
            noticed += 1
    assert noticed > 10
