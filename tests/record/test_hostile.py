"""Whatever somebody has written into a record and signed, a command says one sentence, and never breaks.

Bounded here; `COMPANION_HOSTILE=20000` tries as many, which takes hours.
"""

import os
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest

from companion import places
from companion.cli import main
from companion.exports.formats import FORMATS
from companion.record.keys import own_key
from companion.record.parcel import new_identity, pack
from companion.record.trusted import trust
from companion.review.cohort.base import Base
from companion.review.cohort.intake import take_in
from tests.exports.making import drill, insulin
from tests.left_records import rehearse, talk
from tests.record.hostile import Values, hostile, signed, values_of
from tests.record.making import key

CASES = int(os.environ.get("COMPANION_HOSTILE", "240"))
LOADED = Path(__file__).parents[1] / "data" / "records" / "version-2.jsonl"
Run = Callable[..., int]

pytestmark = pytest.mark.timeout(600 + 5 * CASES)


@pytest.fixture(scope="module")
def bases(tmp_path_factory: pytest.TempPathFactory) -> list[Values]:
    folder = tmp_path_factory.mktemp("bases")
    made = [drill(folder), insulin(folder), insulin(folder, to="inject", close=False)]
    return [*map(values_of, (*made, rehearse(folder / "home", talk(thumbs=None)), LOADED))]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """A command as it is typed, with nothing on standard input: its exit code. It fails where a fault of the program's
    own was met, or where a terminal would have obeyed what was printed."""
    trust(places.keys(), key().public, "tests")

    def typed(*words: object) -> int:
        monkeypatch.setattr(sys, "argv", ["companion", *map(str, words)])
        with Path(os.devnull).open(encoding="utf-8") as nothing, pytest.raises(SystemExit) as ended:
            monkeypatch.setattr(sys, "stdin", nothing)
            main()
        said = capsys.readouterr()
        code = int(str(ended.value.code))
        details = places.cache() / "last-fault.txt"
        assert code in (0, 1, 3), f"{words}: {said.err}\n{details.read_text(encoding='utf-8')[-3000:]}"
        assert "\x1b" not in said.out + said.err and "\u202e" not in said.out + said.err and "\x9b" not in said.out
        assert code == 0 or said.err.strip() or said.out.strip()
        return code

    return typed


def test_no_content_breaks_a_command(
    bases: list[Values], run: Run, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each is replayed, told in every format, verified, sent and received; all together go through the commands for
    folders."""
    folder, out = tmp_path / "records", tmp_path / "out"
    folder.mkdir()
    out.mkdir()
    public = new_identity(tmp_path / "key.txt")
    formats = [word for name in FORMATS for word in ("--to", name)]
    codes: Counter[tuple[str, int]] = Counter()
    for number in range(CASES):
        path = folder / f"{number:05}.jsonl"
        path.write_bytes(hostile(bases[number % len(bases)], Random(number)))
        commands: list[tuple[object, ...]] = [("replay", path), ("record", "verify", path)]
        commands.append(("export", path, *formats, "--out", out, "--replace"))
        if number % 10 == 0:
            pack(path, [public], tmp_path / f"{number}.jsonl.age")
            commands.append(("record", "decrypt", tmp_path / f"{number}.jsonl.age", "--key", tmp_path / "key.txt"))
        for words in commands:
            codes[str(words[0]), run(*words)] += 1
    with capsys.disabled():
        print(f"{CASES} records, commands by exit code: {dict(codes)}")
    assert codes["replay", 0] > CASES // 20 and codes["replay", 1] > CASES // 5, "some are told, some are refused"
    for words in (
        ("record", "verify", folder),
        ("progress", "--records", folder),
        ("progress", "--records", folder, "--student", "55"),
        ("export", folder, "--to", "csv", "--out", out, "--replace"),
        ("record", "purge", folder, "--days", "1", "--dry-run"),
        ("record", "purge", folder, "--days", "0", "--yes"),
    ):
        run(*words)


def test_no_content_breaks_the_review_of_a_folder(bases: list[Values], tmp_path: Path) -> None:
    """And each that is left out is named."""
    trust(places.keys(), key().public, "tests")
    folder = tmp_path / "records"
    folder.mkdir()
    for number in range(CASES):
        (folder / f"{number:05}.jsonl").write_bytes(hostile(bases[number % len(bases)], Random(number)))
    (folder / "good.jsonl").write_bytes(signed(bases[0]))
    (folder / "pipe.jsonl").symlink_to("/dev/zero")
    with Base(folder, tmp_path / "cache") as base:
        taken = take_in(base)
        assert ("good.jsonl",) in base.rows("SELECT file FROM sessions")
    assert all("jsonl: " in fault for fault in taken.faults)


def test_no_open_record_breaks_resuming(bases: list[Values], run: Run, tmp_path: Path) -> None:
    """An open record is signed by nobody, so anybody can lay one there that names this machine's own key."""
    own = own_key(places.keys())
    for number in range(CASES // 8):
        values = bases[number % 3][: Random(number).randrange(2, 40)]
        data = hostile(values, Random(1000 + number)).replace(key().public.encode(), own.public.encode())
        path = tmp_path / f"{number}.jsonl"
        path.write_bytes(data)
        run("resume", path, "--keyboard", "--silent")
