"""The house's rules: imports point down, files stay small, the top level stays as it is."""

import ast
import re
from pathlib import Path

import pytest

from companion.procedure.kinds import KINDS

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "companion"

FLOORS = (
    ("errors",),
    ("places", "datafiles", "plainfiles"),
    ("speech",),
    ("dose", "session"),
    ("procedure",),
    ("machine",),
    ("meaning",),
    ("procedure.proofreading", "rehearsal.judging", "sites"),
    ("procedure.proving",),
    ("ports",),
    ("clocks", "soundcard", "decoding", "models"),
    ("procedure.loading", "hearing", "voice", "meaning.reader", "record"),
    ("sites.kept",),
    ("conversation", "review"),
    ("rehearsal",),
    ("exports",),
    ("web",),
    ("door",),
    ("cli",),
)
"""From the ground up. A module may import what stands on a lower floor, and its own room. A package within a package
that needs more than the rest of it is a room of its own."""

PURE = {
    "speech",
    "dose",
    "session",
    "procedure",
    "machine",
    "meaning",
    "procedure.proofreading",
    "procedure.proving",
    "rehearsal.judging",
    "sites",
}
"""Rooms that decide and touch nothing of the world."""

TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "companion",
    "procedures",
    "models",
    "tests",
    "demo",
    "LICENSE",
}


_STANDS = {name: number for number, names in enumerate(FLOORS) for name in names}


def _room(module: str) -> str:
    """Where a module below `companion` belongs: the longest name of a room that it begins with."""
    parts = module.split(".")
    for size in range(len(parts), 0, -1):
        if (name := ".".join(parts[:size])) in _STANDS:
            return name
    raise AssertionError(f"companion/{module} stands on no floor; add it to FLOORS")


def _imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: relative import"
            found |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    found = {name.removeprefix("companion.") for name in found if name.startswith("companion.")}
    return {_room(name) for name in found if name != "__version__"}


def _own(path: Path) -> str:
    return _room(".".join(path.relative_to(PACKAGE).with_suffix("").parts))


MODULES = sorted(path for path in PACKAGE.rglob("*.py") if path.parent != PACKAGE or path.stem[0] != "_")


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_down(path: Path) -> None:
    room = _own(path)
    for other in _imports(path) - {room}:
        assert _STANDS[other] < _STANDS[room], f"{path.name} in {room} imports {other}, which stands no lower"


def test_what_decides_touches_nothing_of_the_world() -> None:
    """No files, clocks, threads or chance, nor what has to do with them: what decides can be replayed."""
    banned = {"os", "pathlib", "time", "threading", "random", "secrets", "socket", "subprocess", "sys", "io", "uuid"}
    decides = [path for path in MODULES if _own(path) in PURE]
    assert {_own(path) for path in decides} == PURE
    for path in decides:
        assert _imports(path) <= PURE | {"errors"}, path
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not banned & {name.split(".")[0] for name in names}, f"{path}: {names}"


def test_contributors_are_told_the_same_floors() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text.split("| floor | rooms |")[1].split("\n\n")[0]
    told: list[list[str]] = []
    for number, names in re.findall(r"^\| (\d*) ?\| (`[^|]+) \|", table, re.MULTILINE):
        if number:
            told.append([])
            assert int(number) == len(told)
        told[-1] += names.split(", ")
    assert [sorted(rooms) for rooms in told] == [
        sorted(f"`{room}`*" if room in PURE else f"`{room}`" for room in rooms) for rooms in FLOORS
    ]


@pytest.mark.parametrize("part", ["companion", "tests", "demo"])
def test_files_can_be_read_in_one_sitting(part: str) -> None:
    lines = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in (ROOT / part).rglob("*.py")}
    assert {path: count for path, count in lines.items() if count > 300} == {}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_what_belongs_together_is_given_together(path: Path) -> None:
    """A constructor takes six arguments at most; fourteen once stood before a session."""
    for made in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(made, ast.FunctionDef) and made.name == "__init__":
            given = made.args
            _, *names = (*given.posonlyargs, *given.args, *given.kwonlyargs)
            assert len(names) <= 6, f"{path}:{made.lineno}: {', '.join(name.arg for name in names)}"


def test_the_top_level_stays_as_it_is() -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("not a checkout")
    visible = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    made = {"build", "dist"} | {name for name in visible if name.endswith(".egg-info")}
    assert visible - made <= TOP_LEVEL


def test_only_the_terminal_module_prints() -> None:
    """What a procedure, a record or a name of a file says was printed as it stood by two commands, so that a terminal
    obeyed it; `tell` writes out what acts."""
    for path in sorted((ROOT / "companion" / "cli").glob("*.py")):
        for call in (
            node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Call)
        ):
            name = ast.unparse(call.func)
            assert name != "typer.echo", f"{path}:{call.lineno}: tell"
            assert name != "print" or not call.args or path.name == "terminal.py", f"{path}:{call.lineno}: tell"


def test_only_procedure_tells_kinds_of_step_apart() -> None:
    """Whoever needs something of a kind asks the step, or its kind: a kind that is added is forgotten nowhere."""
    models = {kind.model.__name__ for kind in KINDS.values()}
    for path in MODULES:
        if path.is_relative_to(PACKAGE / "procedure"):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            where = f"{path}:{getattr(node, 'lineno', 0)}"
            if isinstance(node, ast.ImportFrom):
                assert models.isdisjoint(alias.name for alias in node.names), where
            if isinstance(node, ast.Attribute):
                assert node.attr not in models, where
            if isinstance(node, ast.Compare | ast.Match):
                matched = (
                    [node.subject, *(case.pattern for case in node.cases)] if isinstance(node, ast.Match) else [node]
                )
                parts = [part for each in matched for part in ast.walk(each)]
                told = {part.value for part in parts if isinstance(part, ast.Constant)}
                asked = any(isinstance(part, ast.Attribute) and part.attr == "kind" for part in parts)
                assert not (asked and told & KINDS.keys()), where
            if isinstance(node, ast.Call) and ast.unparse(node.func) in ("getattr", "hasattr"):
                assert "step" not in ast.unparse(node.args[0]).split("."), where
