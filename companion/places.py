"""Where this program keeps its own files. `COMPANION_HOME` puts them all under one folder of the user's choice."""

import os
from pathlib import Path

from platformdirs import user_cache_path, user_data_path


def home() -> Path:
    """The folder above all others: `COMPANION_HOME`, or the operating system's place for a user's data."""
    chosen = os.environ.get("COMPANION_HOME")
    return Path(chosen).expanduser() if chosen else user_data_path("procedure-companion", appauthor=False)


def records() -> Path:
    """Session records, one file each."""
    return home() / "records"


def keys() -> Path:
    """The key that signs records, and the public keys this machine knows."""
    return home() / "keys"


def models() -> Path:
    """Fetched recogniser models: `COMPANION_MODELS` when set, else beside the rest."""
    chosen = os.environ.get("COMPANION_MODELS")
    return Path(chosen).expanduser() if chosen else home() / "models"


def procedures() -> Path:
    """The user's own procedures, looked at before the library's."""
    return home() / "procedures"


def cache() -> Path:
    """What can be made again at any time: `COMPANION_HOME`'s folder `cache`, or the operating system's place for it."""
    chosen = os.environ.get("COMPANION_HOME")
    return home() / "cache" if chosen else user_cache_path("procedure-companion", appauthor=False)
