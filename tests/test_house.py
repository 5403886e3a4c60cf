"""The house's rules: imports point down, files stay small, the top level stays as it is."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "companion"

FLOORS = (
    ("errors",),
    ("places", "datafiles", "plainfiles"),
    ("core",),
    ("ports",),
    ("clocks", "soundcard", "decoding", "models"),
    ("loading", "hearing", "voice", "understanding", "record"),
    ("rotation",),
    ("session", "rehearsal", "review"),
    ("exports",),
    ("web",),
    ("cli",),
)
"""From the ground up. A module may import what stands on a lower floor, and its own package."""

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


def _floor(package: str) -> int:
    for number, names in enumerate(FLOORS):
        if package in names:
            return number
    raise AssertionError(f"companion/{package} stands on no floor; add it to FLOORS")


def _imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: relative import"
            found |= {node.module} | {f"{node.module}.{alias.name}" for alias in node.names}
    return {name.split(".")[1] for name in found if name.startswith("companion.") and name.count(".") >= 1}


MODULES = sorted(path for path in PACKAGE.rglob("*.py") if path.parent != PACKAGE or path.stem[0] != "_")


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_down(path: Path) -> None:
    package = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
    for other in _imports(path) - {package, "__version__"}:
        assert _floor(other) < _floor(package), f"{path.name} in {package} imports {other}, which stands no lower"


def test_core_touches_nothing_of_the_world() -> None:
    """No files, clocks, threads or chance: what decides can be replayed."""
    banned = {"os", "pathlib", "time", "threading", "random", "secrets", "socket", "subprocess", "sys", "io", "uuid"}
    for path in (PACKAGE / "core").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not banned & {name.split(".")[0] for name in names}, f"{path}: {names}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_files_can_be_read_in_one_sitting(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400


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
