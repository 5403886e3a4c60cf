"""Whoever signed is told: a record of a stranger, a tombstone of another key, and text that would steer a terminal."""

import sys
from dataclasses import replace
from pathlib import Path

import pytest

from companion import places
from companion.cli import main
from companion.cli.progress import sittings
from companion.cli.terminal import plain
from companion.exports.formats import FORMATS
from companion.exports.source import load_source
from companion.exports.tables import rows
from companion.exports.xapi import statements
from companion.record.entry import Entry, stamp
from companion.record.purge import purge
from companion.record.reader import read_record
from companion.record.tombstone import _PURPOSE
from companion.record.trusted import known_keys, trust
from companion.record.verify import verify
from tests.exports.making import drill
from tests.left_records import rehearse, talk
from tests.record.making import START, clock, key, written


def test_an_export_of_a_strangers_record_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Eight formats of a record that anybody may have made once said nothing, but for one."""
    record = drill(tmp_path)
    made: list[set[str]] = []
    for known in (False, True):
        source = load_source(record)
        told = b"Made with the unknown key"
        for name in ("captions", "chapters", "xapi", "fhir-r4b", "fhir-r5", "summary"):
            assert (told in FORMATS[name].make([source])) is not known, name
        word = "known" if known else "unknown"
        assert {row.made_with for row in rows(source)} == {f"{word} key {source.signer}"}
        assert f",{word} key ".encode() in FORMATS["csv"].make([source])
        made.append({each["id"] for each in statements(source)})
        monkeypatch.setattr(sys, "argv", ["companion", "export", str(record), "--to", "csv", "--replace"])
        with pytest.raises(SystemExit):
            main()
        assert ("Made with the unknown key" in capsys.readouterr().err) is not known
        trust(places.keys(), source.opened.body["public_key"], "ward")
    assert source.opened.body["public_key"] in known_keys(places.keys())
    assert made[0].isdisjoint(made[1]), "what was sent before it was trusted is another statement"


def test_a_strangers_rehearsal_counts_for_no_progress(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Anybody could lay a judged rehearsal among the records, and what was due next was worked out from it."""
    record = rehearse(tmp_path / "home", talk(thumbs=None))
    assert list(sittings(record.parent, "")) == []
    assert f"{record}: made with an unknown key" in capsys.readouterr().err
    trust(places.keys(), read_record(record).opening["public_key"], "ward")
    assert len(list(sittings(record.parent, ""))) == 1


def test_a_tombstone_of_another_key_is_told_as_that(tmp_path: Path) -> None:
    """Whoever has a copy of a record can make a tombstone that fits its receipt, but not sign it with its key."""
    path = written(tmp_path, 4).path
    receipt = verify(path, None, {key().public}).receipt
    purge(path, "retention", clock(), key(9))
    for wanted, known in ((None, {key().public}), (receipt, {key().public}), (receipt, {key(9).public}), (None, ())):
        finding = verify(path, wanted, known)
        assert (finding.state, finding.ok) == ("purged by another", False)
        assert "not by the key it was signed with" in finding.sentence()


def test_a_strangers_text_does_not_steer_the_terminal(tmp_path: Path) -> None:
    """ISO 6429 control sequences, and the explicit directions of Unicode Annex 9."""
    assert plain("a\x1b[2J\x9b1m\u202eb\n\tc\udcff") == "a\\x1b[2J\\x9b1m\\u202eb\n\tc\\xff"
    signer = key(9)
    body = {"record_version": 2, "was": "open", "closing": None, "public_key": signer.public}
    body |= {"purged_by": signer.public, "reason": "\x1b]0;title\x07"}
    stone = Entry(0, "0" * 64, "s", stamp(START), 0, 0, "purged", body)
    signed = replace(stone, body=body | {"signature": signer.sign(_PURPOSE + stone.line())})
    (tmp_path / "x.jsonl").write_bytes(signed.line() + b"\n")
    finding = verify(tmp_path / "x.jsonl", None, {signer.public})
    assert finding.state == "signature" and "none that a purge leaves" in finding.reason
