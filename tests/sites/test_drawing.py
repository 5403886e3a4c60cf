"""The body map: well-formed, the right way round, and nothing told by colour alone."""

import re
from datetime import timedelta
from xml.etree import ElementTree

import pytest

from companion.sites import ZONES, Avoided, History, SiteSettings, Zone, propose, zone_named
from companion.sites.drawing import body_map
from tests.sites.steps import START, Ward, used

SVG = "{http://www.w3.org/2000/svg}"
USUAL = SiteSettings()
TODAY = START + timedelta(days=40)


def drawn(history: History, zone: Zone | None = None, proposing: bool = True) -> ElementTree.Element:
    return ElementTree.fromstring(body_map(history, TODAY, USUAL, zone, proposing))


def texts(root: ElementTree.Element) -> dict[str, float]:
    """Every line of text with its x. The name of a zone takes two lines, its side above."""
    found, side = {}, ""
    for each in root.iter(f"{SVG}text"):
        words = each.text or ""
        found[f"{side}{words}"] = float(each.get("x", "0"))
        side = f"{words} " if words in ("left", "right") else ""
    return found


def circles(root: ElementTree.Element, title: str) -> list[ElementTree.Element]:
    return [each for each in root.iter(f"{SVG}circle") if each.findtext(f"{SVG}title") == title]


def at(circle: ElementTree.Element) -> tuple[float, float]:
    return float(circle.get("cx", "0")), float(circle.get("cy", "0"))


@pytest.fixture(scope="module")
def busy() -> History:
    ward = Ward()
    for _ in ward.weeks(5, a_day=2):
        pass
    history = ward.history
    for place, reason in (
        ("right-thigh", "scar"),
        ("left-upper-arm/lower", "device"),
        ("left-thigh/upper-2-2", "lump"),
    ):
        event = Avoided.model_validate({"day": START, "place": place, "reason": reason})
        history = history.taking(event, len(history.noted) + 1)
    return history


@pytest.mark.parametrize("zone", [None, *ZONES])
def test_it_names_itself_and_every_zone(busy: History, zone: Zone | None) -> None:
    root = drawn(busy, zone)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    named = [root.find(f"{SVG}*[@id='{name}']") for name in (root.get("aria-labelledby") or "").split()]
    assert [None if each is None else each.tag for each in named] == [f"{SVG}title", f"{SVG}desc"]
    assert {each.name for each in ZONES} <= texts(root).keys()


def test_a_screen_reader_is_told_what_the_eye_sees(busy: History) -> None:
    said = drawn(busy).findtext(f"{SVG}desc") or ""
    assert f"Next in turn: {propose(busy, TODAY, USUAL).words}." in said
    assert "Right abdomen: used 42 times, last 2030-02-04." in said
    assert "Avoid right thigh since 2030-01-01: scar." in said
    assert "Avoid left thigh, 2 cm outward, upper half since 2030-01-01: lump or hardened fat." in said


@pytest.mark.parametrize("zone", ZONES)
def test_nothing_runs_loads_or_has_a_colour_of_its_own(busy: History, zone: Zone) -> None:
    svg = body_map(busy, TODAY, USUAL, zone)
    root = ElementTree.fromstring(svg)
    tags = {each.tag.removeprefix(SVG) for each in root.iter()}
    assert tags <= {"svg", "title", "desc", "defs", "pattern", "g", "path", "circle", "line", "polygon", "text"}
    for each in root.iter():
        assert not [name for name in each.attrib if name.startswith("on") or name in ("style", "href", "class")]
        for name in ("fill", "stroke"):
            assert each.get(name, "none") in ("none", "currentColor", "url(#site-map-hatch)")
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)", svg)


def test_left_is_where_it_is_on_a_patient_one_looks_at() -> None:
    seen = texts(drawn(History(), proposing=False))
    for name in ("abdomen", "thigh"):  # from the front the patient's left is on the viewer's right
        assert seen[f"right {name}"] < seen[f"left {name}"]
    for name in ("upper arm", "buttock"):  # from behind it is on the left
        assert seen[f"left {name}"] < seen[f"right {name}"]


def marks_on_figure(place: str) -> list[tuple[float, float]]:
    root = ElementTree.fromstring(body_map(used(place, day=TODAY), TODAY, USUAL, proposing=False))
    return [at(each) for each in circles(root, "used today")]


@pytest.mark.parametrize("zone", ZONES)
def test_spots_lie_outward_and_upward_as_their_names_say(zone: Zone) -> None:
    upper, lower = zone.area.parts
    (near_x, low_y), (far_x, _), (_, high_y) = (
        marks_on_figure(f"{zone.code}/{part.name}-{across}-{part.least // 10 + 1}")[0]
        for part, across in ((lower, 1), (lower, 4), (upper, 1))
    )
    middle = texts(drawn(History()))["Front" if zone.area.view == "front" else "Back"]
    assert abs(far_x - middle) > abs(near_x - middle)
    assert high_y < low_y  # SVG counts downward
    on_viewer_s_right = (zone.side == "left") == (zone.area.view == "front")
    assert (near_x > middle) == on_viewer_s_right


def test_a_used_spot_gets_smaller_and_paler_with_age() -> None:
    sizes, tones = [], []
    for days in (0, 10, 35):
        day = TODAY - timedelta(days=days)
        root = ElementTree.fromstring(
            body_map(used("left-thigh/upper-2-2", day=day), TODAY, USUAL, zone_named("left thigh"))
        )
        figure, panel = circles(root, "used today" if days == 0 else f"used {days} days ago")
        sizes.append((float(figure.get("r", "0")), float(panel.get("r", "0"))))
        tones.append(float(panel.get("fill-opacity", "1")))
    assert sizes[0] > sizes[1] > sizes[2]
    assert tones[0] > tones[1] > tones[2]


def test_what_is_avoided_is_hatched_with_its_reason(busy: History) -> None:
    root = drawn(busy, zone_named("left thigh"))
    hatched = [each for each in root.iter() if each.get("fill") == "url(#site-map-hatch)"]
    reasons = [each.findtext(f"{SVG}title") for each in hatched]
    # both halves of the right thigh, half of an arm; the spot on the figure and enlarged; one in the legend
    assert sorted(filter(None, reasons)) == [
        "another device is there",
        "lump or hardened fat",
        "lump or hardened fat",
        "scar",
        "scar",
    ]
    assert len(hatched) == 6


def test_the_spot_in_turn_is_marked_on_the_figure_and_enlarged(busy: History) -> None:
    root = drawn(busy)
    assert len(circles(root, "next in turn")) == 2
    found = propose(busy, TODAY, USUAL)
    bold = [each.text for each in root.iter(f"{SVG}text") if each.get("font-weight") == "bold"]
    assert bold == ["Front", "Back", found.zone.name, "lower quadrant" if "lower" in found.words else "upper quadrant"]


def test_where_nothing_is_left_the_map_says_so(busy: History) -> None:
    root = drawn(busy, zone_named("right thigh"))
    shown = " ".join(texts(root))
    assert "No spot is left on the right thigh: all" in shown
    assert not circles(root, "next in turn")


def test_without_a_proposal_it_shows_only_what_was_noted(busy: History) -> None:
    root = drawn(busy, proposing=False)
    assert not circles(root, "next in turn")
    assert circles(root, "used 6 days ago")


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("distance", [10, 30])
@pytest.mark.parametrize("navel", [10, 50])
def test_every_mark_and_text_stays_on_the_sheet(zone: Zone, distance: int, navel: int) -> None:
    root = ElementTree.fromstring(body_map(History(), TODAY, SiteSettings(distance, navel), zone))
    width, height = (float(each) for each in (root.get("viewBox") or "").split()[2:])
    for each in root.iter(f"{SVG}circle"):
        x, y = at(each)
        radius = float(each.get("r", "0"))
        assert radius <= x <= width - radius
        assert radius <= y <= height - radius
    for each in root.iter(f"{SVG}text"):
        if each.get("x") == "0":
            continue  # turned and moved: its group is on the sheet
        x, size = float(each.get("x", "0")), float(each.get("font-size", "0"))
        wide = len(each.text or "") * size * 0.6  # a wide sans-serif: common practice in typesetting
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[each.get("text-anchor", "start")]
        assert left >= 0
        assert left + wide <= width
