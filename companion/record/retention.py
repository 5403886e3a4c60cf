"""For how many days records are kept, as the person in charge has set it. Without a setting nothing is ever due."""

from pathlib import Path

from companion.errors import RecordError, UsageError
from companion.record.files import DiskFiles, put_over

_FILE = "retention-days"
MOST_DAYS = 36_500


def retention_days(home: Path) -> int | None:
    """The days set for the program whose folder is `home`; None where none are. Raises RecordError for a file that
    does not hold them."""
    path = home / _FILE
    try:
        text = path.read_text("ascii", "replace").strip()
    except FileNotFoundError:
        return None
    except OSError as fault:
        raise RecordError(f"{path}: the retention cannot be read ({fault.strerror})") from fault
    if not text.isdecimal() or not 1 <= int(text) <= MOST_DAYS:
        raise RecordError(f"{path}: holds no number of days; set it anew with: companion record retention DAYS")
    return int(text)


def set_retention(home: Path, days: int | None) -> None:
    """Set the days, or with None take the setting away. Raises UsageError and RecordError."""
    if days is not None and not 1 <= days <= MOST_DAYS:
        raise UsageError(f"retention {days}: 1 to {MOST_DAYS} days are accepted, or `off`")
    path, files = home / _FILE, DiskFiles()
    try:
        if days is not None:
            put_over(files, path, f"{days}\n".encode("ascii"))
        elif path.exists():
            path.unlink()
            files.sync_folder(home)
    except OSError as fault:
        raise RecordError(f"{path}: the retention cannot be set ({fault.strerror})") from fault
