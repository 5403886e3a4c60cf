"""The command line: the only place where adapters meet the session and errors become text."""

import io
import os
import sys
import time

from companion.cli.terminal import tell
from companion.errors import CompanionError


def main() -> None:
    """Run the command line; exits with 0, 1 (something is wrong, said in a sentence) or what a command says."""
    # Nobody extends our models, and looking for those who might takes longer than the models themselves.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a name in other bytes than this terminal's is no fault
            stream.reconfigure(errors="backslashreplace")
    try:
        time.time()
    except OverflowError:  # where Python itself ends
        tell("companion: the clock of this machine shows a year after 2262; accepted: any before; set it", err=True)
        sys.exit(1)
    import typer

    from companion.cli.app import app_for

    try:
        words = sys.argv[1:]
        if words[:1] == ["rehearse"] and words[-1] == "--help":
            words[-1] = "-h"  # its --help takes a level; without one it is the question everybody means by it
        code = app_for(words[:1])(args=words, standalone_mode=False)
        sys.stdout.flush()
    except CompanionError as fault:
        tell(f"companion: {fault}", err=True)
        sys.exit(1)
    except typer.Abort:
        tell("companion: not confirmed; nothing was done", err=True)
        sys.exit(1)
    except KeyboardInterrupt:
        tell("companion: interrupted", err=True)
        sys.exit(130)
    except BrokenPipeError:
        _say_no_more()  # the reader of our output has gone; nothing more can be told to anyone
        sys.exit(1)
    except OSError as fault:
        # A name too long, a folder that cannot be written: whoever met it had nothing to add to what the system says
        where = fault.filename if fault.filename else "what is to be shown or kept"
        tell(f"companion: {where}: cannot be read or written ({fault.strerror or fault})", err=True)
        _say_no_more()
        sys.exit(1)
    except Exception as fault:
        # The argument parser has its own exceptions, for a wrong option or none at all, each with a text to show.
        if not hasattr(fault, "format_message"):
            from companion.cli.fault import EXIT_CODE, told

            tell(f"companion: {told(fault)}", err=True)
            sys.exit(EXIT_CODE)
        if fault.format_message():
            tell(f"companion: {fault.format_message()}", err=True)
        sys.exit(1)
    sys.exit(code if isinstance(code, int) else 0)


def _say_no_more() -> None:
    """What is left to be written to standard output goes nowhere, so that its end is no second fault."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
