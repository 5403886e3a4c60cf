"""Whoever signed is told: a record of a stranger, a tombstone of another key, and text that would steer a terminal."""

import sys
from dataclasses import replace
from pathlib import Path

import pytest

from companion import places
from companion.cli import main
from companion.cli.terminal import plain
from companion.exports.formats import FORMATS
from companion.exports.source import load_source
from companion.record.entry import Entry, stamp
from companion.record.purge import purge
from companion.record.tombstone import _PURPOSE
from companion.record.trusted import known_keys, trust
from companion.record.verify import verify
from tests.exports.making import drill
from tests.record.making import START, clock, key, written


def test_an_export_of_a_strangers_record_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Eight formats of a record that anybody may have made once said nothing, but for one."""
    record = drill(tmp_path)
    for known in (False, True):
        source = load_source(record)
        told = b"Made with the unknown key"
        for name in ("captions", "chapters", "fhir-r4b", "fhir-r5", "summary"):
            assert (told in FORMATS[name].make([source])) is not known, name
        monkeypatch.setattr(sys, "argv", ["companion", "export", str(record), "--to", "csv", "--replace"])
        with pytest.raises(SystemExit):
            main()
        assert ("Made with the unknown key" in capsys.readouterr().err) is not known
        trust(places.keys(), source.opened.body["public_key"], "ward")
    assert source.opened.body["public_key"] in known_keys(places.keys())


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
