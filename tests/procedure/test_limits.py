"""Files that are no procedure, or too much of one: a clear error, never a hang. The limits are this project's own."""

import os
from pathlib import Path

import pytest
import yaml

from companion.errors import ProcedureError
from companion.procedure.loading import load, load_text, loader, nodes
from tests.realparts import need

WHOLE = (Path(__file__).parents[1] / "data" / "whole.yaml").read_text(encoding="utf-8")
STEP = "  - {id: step-%d, kind: action, title: T, say: Do it., replies: [it was moved]}\n"


@pytest.fixture(params=["libyaml", "python"], autouse=True)
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both parsers that PyYAML may bring."""
    if request.param == "libyaml" and not hasattr(yaml, "CSafeLoader"):
        pytest.skip("this PyYAML has no libyaml; `pip install --force-reinstall pyyaml` brings the wheel that has")
    monkeypatch.setattr(nodes, "_PARSER", yaml.CSafeLoader if request.param == "libyaml" else yaml.SafeLoader)


def refused(path: Path) -> str:
    with pytest.raises(ProcedureError) as caught:
        load(path)
    assert caught.value.faults
    return str(caught.value)


@pytest.mark.parametrize(
    ("raw", "line", "words"),
    [
        (b"", 1, "empty"),
        (b"\n\n# nothing but a remark\n", 1, "empty"),
        (b"\xef\xbb\xbf", 1, "empty"),
        (b"just a sentence", 1, "not a procedure"),
        (b"- a\n- list\n", 1, "not a procedure"),
        (b"format: 1\nid: \x00\x01\x02", 2, "binary"),
        (b"\x7fELF\x02\x01\x01\x00\x00", 1, "binary"),
        ("format: 1".encode("utf-16"), 1, "UTF-16"),
        ("title: café".encode("latin-1"), 1, "not UTF-8"),
        (b"ok: 1\nalso: \xff\xfe\n", 2, "not UTF-8"),
        (b"a: 1\nb: \x07bell\n", 2, "U+0007"),
        (b'a: "\\x07"\n', 1, "U+0007"),
        (b'a: "\\ud800"\n', 1, ""),
        (b'a: "\\UFFFFFFFF"\n', 1, "not YAML"),
        (b"a: [1, 2\nb: 3\n", 2, "not YAML"),
        (b"a: 'never closed\n", 1, "not YAML"),
        (b"%YAML 9.9\n---\na: 1\n", 1, "not YAML"),
        (b"? [a, b]\n: c\n", 1, "stands as a key"),
        (b"<<: {a: 1}\n", 1, "the key `<<` is not known"),
    ],
)
def test_what_is_no_procedure(tmp_path: Path, raw: bytes, line: int, words: str) -> None:
    path = tmp_path / "given.yaml"
    path.write_bytes(raw)
    message = refused(path)
    assert any(words in part for part in message.splitlines())
    if words != "not YAML" or line > 1:
        assert f"{path}:{line}: " in message


def test_a_byte_order_mark_and_windows_line_ends_are_accepted(tmp_path: Path) -> None:
    path = tmp_path / "bom.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())
    assert load(path).procedure == load_text(WHOLE).procedure


def test_at_most_1_mib(tmp_path: Path) -> None:
    path = tmp_path / "long.yaml"
    room = loader.MOST_BYTES - len(WHOLE.encode())
    path.write_text(WHOLE + "#" * room, encoding="utf-8")
    assert load(path).procedure.id == "drill"
    path.write_text(WHOLE + "#" * (room + 1), encoding="utf-8")
    assert "larger than 1 MiB" in refused(path)


def test_at_most_500_steps() -> None:
    before, after = WHOLE.split("  - id: sign\n")
    ten = 11  # steps of the whole file, the branch's one included
    full = before + "".join(STEP % n for n in range(500 - ten)) + "  - id: sign\n" + after
    assert sum(1 for _ in load_text(full).procedure.all_steps()) == 500
    with pytest.raises(ProcedureError, match="the file has 501 steps; accepted: at most 500"):
        load_text(full.replace("branches:", STEP % 1000 + "branches:"))


@pytest.mark.parametrize("text", ["[" * 100_000, "a: " + "{b: " * 50_000, "- " * 100_000, "? " * 100_000])
def test_depth_is_refused_before_it_costs_anything(text: str) -> None:
    # libyaml looks ahead and may meet its own limit before ours.
    with pytest.raises(ProcedureError, match=r"nested more than 12 deep|maximum nesting depth"):
        load_text(text)


def test_anchors_that_would_explode_are_refused_one_by_one() -> None:
    """The "billion laughs" pattern: nine levels of nine aliases each."""
    rows = ["a0: &a0 [lol]"] + [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 10)]
    with pytest.raises(ProcedureError) as caught:
        load_text("\n".join(rows))
    faults = caught.value.faults
    assert faults[0].startswith("procedure:1: the anchor `&a0`")
    assert any("the alias `*a8`" in fault for fault in faults)


def test_faults_are_told_up_to_200() -> None:
    with pytest.raises(ProcedureError) as caught:
        load_text("\n".join(f"key-{n}: 1" for n in range(1000)))
    assert len(caught.value.faults) == loader.MOST_FAULTS + 1
    assert caught.value.faults[-1].endswith("more faults")


@pytest.mark.parametrize("text", ["format: $%s", "%s: 1", "a: !%s b", "a: &%s b", "format: %s", "steps: [{kind: %s}]"])
def test_a_culprit_without_end_is_cut_short(text: str) -> None:
    with pytest.raises(ProcedureError) as caught:
        load_text(text % ("x" * 100_000))
    assert all(len(fault) < 500 for fault in caught.value.faults)


def test_many_small_entries_are_bounded() -> None:
    with pytest.raises(ProcedureError, match="more than 50,000 entries"):
        load_text("a: [" + "x," * 200_000 + "]")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_what_is_not_a_regular_file_is_not_opened(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.yaml"
    os.mkfifo(pipe)
    assert "not a file" in refused(pipe)
    assert "not a file" in refused(tmp_path)
    assert "is not there" in refused(tmp_path / "absent.yaml")


def test_a_file_that_cannot_be_read() -> None:
    """Linux's own image of a process's memory: a regular file whose first byte gives an input/output error."""
    memory = Path("/proc/self/mem")
    need(memory.is_file(), "needs /proc, which Linux has")
    assert "it cannot be read (Input/output error)" in refused(memory)
