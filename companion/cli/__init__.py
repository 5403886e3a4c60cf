"""The command line: the only place where adapters meet the session and errors become text."""

import os
import sys

from companion.errors import CompanionError


def main() -> None:
    """Run the command line; exits with 0, 1 (something is wrong, said in a sentence) or what a command says."""
    from companion.cli.app import app

    try:
        app()
    except CompanionError as fault:
        print(f"companion: {fault}", file=sys.stderr)
        sys.exit(1)
    except KeyboardInterrupt:
        print("companion: interrupted", file=sys.stderr)
        sys.exit(130)
    except BrokenPipeError:
        # The reader of our output has gone; nothing more can be told to anyone.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
