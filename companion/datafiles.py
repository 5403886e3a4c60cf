"""Where the data that comes with the program lies: inside the installed package, or beside it in a checkout."""

from pathlib import Path
from typing import Literal

from companion.errors import CompanionError

Kind = Literal["procedures", "models", "demo"]


def packaged(kind: Kind) -> Path:
    """The folder of that kind of data. Raises CompanionError when the installation lacks it."""
    package = Path(__file__).resolve().parent
    for folder in (package / "_data" / kind, package.parent / kind):
        if folder.is_dir():
            return folder
    raise CompanionError(f"the folder {kind}/ is missing from this installation of companion; install it again")
