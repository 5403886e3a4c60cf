"""Records of every version that was ever written stay readable."""

from dataclasses import replace
from pathlib import Path

from companion.record.clips import AGREEMENT, SOUND, agreed_tags, clips_of, read_clip
from companion.record.entry import Entry
from companion.record.first_entry import RECORD_VERSION
from companion.record.reader import read_record
from companion.record.upcast import STEPS, upcast
from companion.record.verify import verify
from companion.review.course import EVENT
from companion.session.events import Replied, from_json
from tests.record.making import key

FIXTURES = Path(__file__).parents[1] / "data" / "records"
RECEIPTS = {
    1: ("Y7H6-WADF-G95J-KX4N", "AMA2-3G04-B7CQ-B0DC"),
    2: ("48V0-AKHJ-GZMP-GPG6", "6MW3-QRWP-Q5S4-JSQP"),
    3: ("5PED-0HR8-V2D2-ZW8D", "H4RY-WS2H-XXZ9-SQR8"),
}
"""By version, the receipts that were given when the fixtures were written: of a record, of a purged one. The fixtures
are never written again."""


def test_there_is_a_fixture_of_every_version_and_a_step_to_the_next() -> None:
    assert sorted(RECEIPTS) == list(range(1, RECORD_VERSION + 1))
    assert sorted(STEPS) == list(range(1, RECORD_VERSION))


def test_every_version_reads_and_verifies_as_on_its_first_day() -> None:
    for version, (receipt, of_purged) in RECEIPTS.items():
        path = FIXTURES / f"version-{version}.jsonl"
        assert verify(path, receipt, {key().public}).state == "intact"
        record = read_record(path)
        assert record.opening["procedure_id"] == "hand-rub"
        told = [e for e in record.entries if e.kind not in (AGREEMENT, SOUND, EVENT)]
        assert [e.kind for e in told] == ["opened", "replied", "replied", "closed"]
        assert [e.at_ms for e in told] == [0, 700, 1400, 1400]
        assert told[2].body["event"]["phrase"] == "vial number 1 rolled"
        purged = FIXTURES / f"version-{version}-purged.jsonl"
        assert verify(purged, of_purged, {key().public}).state == "purged"
        assert record.closed and record.torn == 0


def test_version_2_brought_sound() -> None:
    assert len(clips_of(read_record(FIXTURES / "version-1.jsonl").entries)) == 0
    record = read_record(FIXTURES / "version-2.jsonl")
    (clip,) = clips_of(record.entries)
    assert (agreed_tags(record.entries), clip.of, clip.ms) == (("41", "52"), 3, 100)
    assert read_clip(record.path, clip).size == 1600


def test_version_3_brought_replies_in_own_words() -> None:
    """A reply of before tells no more than its phrase, and was said as it stands."""

    def how(version: int) -> list[str]:
        entries = read_record(FIXTURES / f"version-{version}.jsonl").entries
        events = [from_json({"at_ms": e.at_ms, **e.body["event"]}) for e in entries if "event" in e.body]
        return [event.how if isinstance(event, Replied) else event.kind for event in events]

    assert [how(version) for version in (1, 2)] == [["phrase", "phrase"]] * 2
    assert how(3) == ["own words", "asked back", "asked back"]


def test_steps_are_taken_one_after_the_other() -> None:
    def renamed(entry: Entry) -> Entry:
        return replace(entry, kind={"replied": "reply"}.get(entry.kind, entry.kind))

    def counted(entry: Entry) -> Entry:
        return replace(entry, body={**entry.body, "letters": len(entry.kind)})

    entry = read_record(FIXTURES / "version-1.jsonl").entries[1]
    lifted = upcast(entry, 1, {1: renamed, 2: counted}, to=3)
    assert (lifted.kind, lifted.body["letters"], lifted.n) == ("reply", 5, 1)
    assert upcast(lifted, 3, {}, to=3) is lifted
