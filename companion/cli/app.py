"""The commands by name."""

import typer

from companion.cli.check import check
from companion.cli.demo import demo
from companion.cli.dose import dose
from companion.cli.export import export
from companion.cli.guide import guide
from companion.cli.hear import hear
from companion.cli.models import app as models
from companion.cli.ready import ready
from companion.cli.record import app as record
from companion.cli.replay import replay
from companion.cli.resume import resume
from companion.cli.site import app as site

app = typer.Typer(
    name="companion",
    help="A voice-guided companion for clinical procedures. A training aid: local policy and judgement decide.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    add_completion=False,
)
for command in (guide, demo, resume, replay, ready, check, dose, hear, export):
    app.command()(command)
app.add_typer(models, name="models", help="Recogniser models: list, fetch, verify, remove.")
app.add_typer(record, name="record", help="Session records: verify, purge, encrypt, decrypt.")
app.add_typer(site, name="site", help="Injection sites: the next one, and a history under a tag.")
