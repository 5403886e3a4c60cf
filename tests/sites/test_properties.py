"""What holds for every history: distances, rest, fairness, and that the same gives the same."""

from datetime import timedelta
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from companion.sites import REASONS, ZONES, Avoided, NothingLeft, SiteSettings, Zone, read_place
from companion.sites.grid import spots
from tests.sites.steps import Ward, on_body, square_apart

SETTINGS = st.builds(
    SiteSettings,
    site_distance=st.integers(10, 30),
    navel_distance=st.integers(10, 50),
    rest_days=st.integers(1, 60),
)
ZONE = st.sampled_from(ZONES)
STEP = st.tuples(st.integers(0, 4), st.none() | ZONE)
"""Days that pass, and the zone that is wanted."""


def every_spot(zone: Zone, chosen: SiteSettings) -> list[str]:
    return [place.code for part in zone.area.parts for place in spots(zone, part, chosen)]


@given(SETTINGS, st.lists(STEP, max_size=40), st.lists(st.tuples(ZONE, st.integers(0, 200)), max_size=4))
@settings(max_examples=60, deadline=None)
def test_no_proposal_ever_breaks_a_rule(
    chosen: SiteSettings, steps: list[tuple[int, Zone | None]], marked: list[tuple[Zone, int]]
) -> None:
    ward = Ward(chosen)
    avoided = []
    for n, (zone, index) in enumerate(marked):
        codes = [zone.code, *(f"{zone.code}/{part.name}" for part in zone.area.parts), *every_spot(zone, chosen)]
        avoided.append(codes[index % len(codes)])
        event = Avoided(day=ward.today, place=avoided[-1], reason=REASONS[index % len(REASONS)])
        ward.history = ward.history.taking(event, n + 1)
    # Independent of the program's own geometry: read from the codes, in fractions
    distance, navel = Fraction(chosen.site_distance, 10), Fraction(chosen.navel_distance, 10)
    last: list[tuple[str, int]] = []
    for passed, wanted in steps:
        ward.today += timedelta(days=passed)
        try:
            found = ward.inject(wanted)
        except NothingLeft:
            continue
        code = found.place.code
        assert wanted in (None, found.zone)
        if last:
            apart = square_apart(code, last[-1][0])
            assert apart is None or apart >= distance**2
        for earlier, ordinal in last:
            apart = square_apart(code, earlier)
            near = apart is not None and apart < distance**2
            assert not near or ward.today.toordinal() - ordinal >= chosen.rest_days
        skin, x, y = on_body(code)
        assert skin != "abdomen" or x * x + y * y >= navel**2
        for each in avoided:
            assert not code.startswith(each) or (each[-1].isdigit() and code != each)
            if each[-1].isdigit():
                apart = square_apart(code, each)
                assert apart is None or apart >= distance**2
        last.append((code, ward.today.toordinal()))


@given(SETTINGS, ZONE, st.lists(st.integers(0, 9), min_size=1, max_size=20))
@settings(max_examples=40, deadline=None)
def test_every_spot_of_a_zone_is_used_before_one_is_used_again(
    chosen: SiteSettings, zone: Zone, pauses: list[int]
) -> None:
    ward = Ward(chosen)
    whole = every_spot(zone, chosen)
    seen: list[str] = []
    for n in range(len(whole)):
        ward.today += timedelta(days=pauses[n % len(pauses)])
        seen.append(ward.inject_when_possible(zone).place.code)
    assert sorted(seen) == sorted(whole)
    again = ward.inject_when_possible(zone).place.code
    assert again in whole


@given(SETTINGS, st.integers(1, 5), st.integers(0, 3))
@settings(max_examples=8, deadline=None)
def test_also_in_each_zone_of_an_area_that_is_used_as_one(chosen: SiteSettings, every: int, start: int) -> None:
    ward = Ward(chosen)
    first = ZONES[2 * start]
    seen: dict[Zone, list[str]] = {first: [ward.inject(first).place.code]}
    for n in range(120):
        ward.today += timedelta(days=n % every == 0)
        found = ward.inject_when_possible()
        seen.setdefault(found.zone, []).append(found.place.code)
    for zone, codes in seen.items():
        whole = len(every_spot(zone, chosen))
        assert len(set(codes[:whole])) == len(codes[:whole])


@given(SETTINGS, st.lists(STEP, max_size=25))
@settings(max_examples=25, deadline=None)
def test_the_same_history_gives_the_same_proposal(chosen: SiteSettings, steps: list[tuple[int, Zone | None]]) -> None:
    one, other = Ward(chosen), Ward(chosen)
    for passed, wanted in steps:
        said = []
        for ward in (one, other):
            ward.today += timedelta(days=passed)
            try:
                said.append(str(ward.inject(wanted)))
            except NothingLeft as refusal:
                said.append(str(refusal))
        assert said[0] == said[1]
    assert one.history == other.history


@given(SETTINGS)
@settings(max_examples=30, deadline=None)
def test_no_two_spots_of_a_grid_are_too_near(chosen: SiteSettings) -> None:
    least = Fraction(chosen.site_distance, 10)
    skins: dict[str, list[tuple[Fraction, Fraction]]] = {}
    for zone in ZONES:
        for code in every_spot(zone, chosen):
            skin, x, y = on_body(code)
            skins.setdefault(skin, []).append((x, y))
    for points in skins.values():
        points.sort()
        for n, (x, y) in enumerate(points):
            for x_2, y_2 in points[n + 1 :]:
                if x_2 - x >= least:
                    break  # sorted by x: all the rest lie farther
                assert (x - x_2) ** 2 + (y - y_2) ** 2 >= least**2


def test_a_spot_written_down_is_where_it_was() -> None:
    # The program's own geometry against the reading of the code alone, on which the properties above rest
    for zone in ZONES:
        for code in every_spot(zone, SiteSettings(site_distance=13)):
            point = read_place(code).point
            assert point is not None
            assert on_body(code)[1:] == (Fraction(point[1], 10), Fraction(point[2], 10))


def test_two_months_of_four_a_day_never_run_out() -> None:
    # Four a day is the usual most (a basal and three meal-time doses): common practice
    found = [each.place.code for _, each in Ward().weeks(8, a_day=4)]
    assert len(found) == 8 * 7 * 4
    # All of both sides' spots are used
    assert len(set(found)) == 200
