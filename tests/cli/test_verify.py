"""`companion record verify`: plain words and exit codes."""

from pathlib import Path

import pytest

from companion import places
from companion.errors import CompanionError
from companion.record.keys import own_key
from companion.record.verify import verify
from tests.commands import inside
from tests.record.making import key, written


def run(*arguments: str) -> tuple[int, str]:
    code, said = inside("record", "verify", *arguments)
    return code, " ".join(said.split())


def test_one_record_in_each_state(tmp_path: Path) -> None:
    own = own_key(places.keys())
    intact = written(tmp_path / "intact.jsonl", 3, own).path
    code, said = run(str(intact))
    assert code == 0
    assert "intact and closed, 3 entries, signed with the known key" in said
    assert "nothing was changed since it was closed" in said

    code, said = run(str(intact), "--receipt", verify(intact).receipt.lower())
    assert code == 0
    assert "the receipt matches" in said

    still = written(tmp_path / "open.jsonl", 3, own, close=False).path
    code, said = run(str(still))
    assert code == 3
    assert "still open, 3 entries" in said

    still.write_bytes(still.read_bytes()[:-5])
    code, said = run(str(still))
    assert code == 3
    assert "the last line was cut off while being written" in said

    intact.write_bytes(intact.read_bytes().replace(b"rolled", b"shaken"))
    code, said = run(str(intact))
    assert code == 1
    assert "broken at line 3" in said
    assert "damaged or changed after it was written" in said

    code, said = run(str(written(tmp_path / "other.jsonl", 3, key(9)).path))
    assert code == 1
    assert "unknown key" in said

    code, said = run(str(tmp_path / "gone.jsonl"))
    assert code == 1
    assert "there is no such file" in said


def test_a_folder_is_summed_up_and_only_what_needs_a_look_is_listed(tmp_path: Path) -> None:
    own = own_key(places.keys())
    folder = places.records()
    paths = [written(folder, 3, own).path for _ in range(3)]
    assert run(str(folder)) == (0, "3 records: 3 intact and closed")
    written(folder, 3, own, close=False)
    code, said = run(str(folder))
    assert code == 3
    assert said.endswith("4 records: 3 intact and closed, 1 still open")
    assert not any(str(path) in said for path in paths)

    code, said = run(str(folder), "--receipt", verify(paths[1]).receipt)
    assert str(paths[1]) in said
    assert "the receipt matches" in said
    code, said = run(str(folder), "--receipt", verify(written(tmp_path / "else.jsonl", 4, own).path).receipt)
    assert code == 1
    assert "no record here has the receipt" in said

    paths[2].write_bytes(b"{}\n")
    code, said = run(str(folder))
    assert code == 1
    assert f"{paths[2]}: broken at line 1" in said


def test_a_receipt_singles_out_a_record_of_another_machine_in_a_folder(tmp_path: Path) -> None:
    path = written(tmp_path / "all" / "one.jsonl", 3, key(9)).path
    assert run(str(path.parent))[0] == 1
    assert run(str(path.parent), "--receipt", verify(path).receipt)[0] == 0


def test_what_cannot_be_checked_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(CompanionError, match=r"empty: there is no record"):
        run(str(tmp_path / "empty"))
    with pytest.raises(CompanionError, match="receipt '12'"):
        run(str(tmp_path / "gone.jsonl"), "--receipt", "12")
