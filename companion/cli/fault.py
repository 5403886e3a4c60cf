"""A fault of the program's own: one sentence for the user, and the details in a file for whoever mends it."""

import os
import traceback

from companion import places

EXIT_CODE = 70
"""EX_SOFTWARE of BSD's sysexits.h."""


def told(fault: Exception) -> str:
    """The sentence. The details, lines of code and the fault's own message, are kept until the next fault."""
    path = places.cache() / "last-fault.txt"
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        owner_only = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(owner_only, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.writelines(traceback.format_exception(fault))
        kept = f"the details are in {path}"
    except OSError as why:
        kept = f"the details could not be kept ({why.strerror})"
    return f"a fault of the program itself ({type(fault).__name__}); what was recorded is kept, and {kept}"
