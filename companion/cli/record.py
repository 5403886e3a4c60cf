"""`companion record`: can a session record be believed, who may read it, and how it is purged."""

import sys
from collections import Counter
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import track

from companion import places
from companion.cli.passphrase import identity_passphrase, new_passphrase, signing_key
from companion.cli.purging import purge_command, retention_command
from companion.cli.terminal import tell
from companion.cli.trusting import trust_command
from companion.errors import RecordError, UsageError
from companion.record.keys import key_id, seal_key
from companion.record.parcel import SUFFIX, new_identity, pack, unpack
from companion.record.receipt import read_receipt
from companion.record.trusted import known_keys
from companion.record.verify import Finding, State, records_in, verify

app = typer.Typer(no_args_is_help=True, help="Check session records, hand them on, and purge them.")

UNFINISHED: tuple[State, ...] = ("open", "torn", "empty")
_PLAIN: dict[State, str] = {
    "intact": "intact and closed",
    "open": "still open",
    "torn": "still open, the last line cut off",
    "empty": "never begun",
    "broken": "broken",
    "count": "with a wrong count",
    "signature": "with a wrong signature",
    "receipt": "not matching the receipt",
    "stranger": "signed with an unknown key",
    "unreadable": "not readable",
    "purged": "purged",
    "purged by another": "purged by another key than signed it",
    "sound": "with sound that does not fit",
}


@app.callback()
def _group() -> None:
    """Check session records, hand them on, and purge them."""


@app.command("verify")
def verify_command(
    path: Annotated[Path, typer.Argument(help="A record (.jsonl), or a folder of them.")],
    receipt: Annotated[
        str | None, typer.Option(help="The code given when the session ended, typed or as spoken.")
    ] = None,
) -> None:
    """Say whether records are intact, where they broke, and what that means.

    Exit code 0: all are closed and intact. 3: nothing is wrong, but some were not ended. 1: anything else.
    """
    known = known_keys(places.keys())
    if not path.is_dir():
        finding = verify(path, receipt, known)
        tell(finding.sentence())
        raise typer.Exit(exit_code([finding]))
    wanted = None if receipt is None else read_receipt(receipt)
    paths = records_in(path)
    if not paths:
        raise RecordError(f"{path}: there is no record (*.jsonl) in this folder")
    findings = []
    bar = Console(stderr=True)
    for each in track(paths, "Verifying", console=bar, transient=True, disable=not sys.stderr.isatty()):
        finding = verify(each, None, known)
        if wanted is not None and finding.receipt == wanted:
            finding = verify(each, wanted, known)
        findings.append(finding)
    raise typer.Exit(_report(findings, wanted))


app.command("trust")(trust_command)
app.command("purge")(purge_command)
app.command("retention")(retention_command)


@app.command("passphrase")
def passphrase_command(
    remove: Annotated[bool, typer.Option("--remove", help="Keep the key without one.")] = False,
) -> None:
    """Seal the key that signs this machine's records with a passphrase, or change it. Every session then asks for it
    before it begins. Nobody can recover a passphrase that was forgotten."""
    wanted = None
    key = signing_key()
    if not remove:
        wanted = new_passphrase()
    seal_key(places.keys(), key, wanted)
    tell(f"{places.keys()}: the key {key_id(key.public)} is kept {'with' if wanted else 'without'} a passphrase")


@app.command("new-key")
def new_key_command(
    path: Annotated[Path, typer.Argument(help="Where the private key is to be kept; it is never written over.")],
    passphrase: Annotated[bool, typer.Option("--passphrase", help="Seal it with a passphrase, asked for now.")] = False,
) -> None:
    """Make a key for receiving encrypted records, and show its public half, which is for giving away."""
    tell(new_identity(path, new_passphrase() if passphrase else None))


@app.command("encrypt")
def encrypt_command(
    path: Annotated[Path, typer.Argument(help="A record (.jsonl).")],
    to: Annotated[list[str], typer.Option(help="Public key of who may open it: age1... or ssh-ed25519 ...")],
    out: Annotated[Path | None, typer.Option(help="The new file; else beside the record, ending in .age.")] = None,
) -> None:
    """Encrypt a record, and the sound kept with it, to one or more people, such as an educator, and to nobody else."""
    target = out or path.with_name(path.name + SUFFIX)
    pack(path, to, target)
    tell(str(target))


@app.command("decrypt")
def decrypt_command(
    path: Annotated[Path, typer.Argument(help="What was received (.age).")],
    key: Annotated[Path, typer.Option(help="File with your private key.")],
    out: Annotated[Path | None, typer.Option(help="The new file; else beside it, without .age.")] = None,
) -> None:
    """Decrypt a record that was encrypted to you, and say, as `verify` does, whether it can be believed."""
    if out is None and path.suffix != SUFFIX:
        raise UsageError(f"{path}: its name does not end in {SUFFIX}; say with --out where the record is to go")
    target = out or path.with_suffix("")
    unpack(path, key, target, identity_passphrase(key))
    finding = verify(target)
    tell(finding.sentence())
    raise typer.Exit(exit_code([finding]))


def exit_code(findings: list[Finding]) -> int:
    """0: all intact. 3: the rest are only unfinished. 1: anything else."""
    bad = {finding.state for finding in findings if not finding.ok}
    if not bad:
        return 0
    return 3 if bad <= set(UNFINISHED) else 1


def _report(findings: list[Finding], wanted: str | None) -> int:
    for finding in findings:
        if not finding.ok or (wanted is not None and finding.receipt == wanted):
            tell(finding.sentence())
    counts = Counter(finding.state for finding in findings)
    parts = [f"{counts[state]} {words}" for state, words in _PLAIN.items() if counts[state]]
    total = f"{len(findings)} record{'' if len(findings) == 1 else 's'}"
    tell(f"{total}: {', '.join(parts)}")
    if wanted is not None and not any(finding.receipt == wanted for finding in findings):
        tell(f"no record here has the receipt {wanted}: the one it was given for is missing or was changed")
        return 1
    return exit_code(findings)
