"""A procedure by path or by name; the user's own folder comes before the library."""

from pathlib import Path

from companion import datafiles, places
from companion.errors import ProcedureError
from companion.plainfiles import is_plain


def folders() -> tuple[Path, ...]:
    """Where procedures lie, the first that has a name wins."""
    return (places.procedures(), datafiles.packaged("procedures"))


def names() -> tuple[str, ...]:
    """Every procedure that can be called by name, sorted."""
    return tuple(sorted({path.stem for folder in folders() for path in folder.glob("*.yaml")}))


def find(name_or_path: str) -> Path:
    """The file. Raises ProcedureError that lists what exists when there is none."""
    given = Path(name_or_path).expanduser()
    if is_plain(given, links=True):
        return given
    if given.name == name_or_path:
        for folder in folders():
            path = folder / f"{name_or_path.removesuffix('.yaml')}.yaml"
            if is_plain(path, links=True):
                return path
    listed = ", ".join(names()) or "none yet"
    raise ProcedureError([f"there is no procedure `{name_or_path}`; accepted: a path to a file, or one of {listed}"])
