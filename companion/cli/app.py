"""The commands by name."""

from collections.abc import Sequence
from importlib import import_module

import typer

COMMANDS = (
    *("guide", "demo", "resume", "replay", "ready", "check", "dose", "usable"),
    *("hear", "export", "rehearse", "progress", "review"),
)
"""Each is the function of that name in the module of that name."""

GROUPS = {
    "models": "Models that hear and read: list, fetch, verify, remove.",
    "record": "Session records: verify, purge, encrypt, decrypt.",
    "site": "Injection sites: the next one, and a history under a tag.",
}
"""Each is the `app` of the module of that name."""


def app_for(words: Sequence[str]) -> typer.Typer:
    """The commands. Where the first word names one, only that one is loaded: the first prompt should come soon."""
    app = typer.Typer(
        name="companion",
        help="A voice-guided companion for clinical procedures. A training aid: local policy and judgement decide.",
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        add_completion=False,
        context_settings={"help_option_names": ["-h", "--help"]},  # every command and group below takes it over
    )
    app.callback()(_nothing)
    known = (*COMMANDS, *GROUPS)
    for name in [word for word in words if word in known] or known:
        module = import_module(f"companion.cli.{name}")
        if name in GROUPS:
            app.add_typer(module.app, name=name, help=GROUPS[name])
        else:
            app.command(context_settings=getattr(module, "SETTINGS", None))(getattr(module, name))
    return app


def _nothing() -> None:
    """A voice-guided companion for clinical procedures. A training aid: local policy and judgement decide."""
