"""`companion record trust`: whose records and marks count on this machine."""

from typing import Annotated

import typer

from companion import places
from companion.cli.terminal import tell
from companion.record.keys import key_id
from companion.record.trusted import trust, trusted_keys


def trust_command(
    key: Annotated[
        str | None, typer.Argument(help="The signer's `signing.pub`, or the 64 digits in it; left out, all are listed.")
    ] = None,
    name: Annotated[str, typer.Option(help="What it is called here; a place or a role, nobody's name.")] = "",
) -> None:
    """Trust whoever signs with a key, or list whose is trusted. Compare the short name with the signer's own, by word
    of mouth: `companion record trust` shows it there too. Deleting the file that is named takes it back."""
    folder = places.keys()
    found = trusted_keys(folder) if key is None else [trust(folder, key, name)]
    if not found:
        tell(f"{folder}: no key is known yet; this machine's own is made with the first record")
    for each in found:
        tell(f"{key_id(each.public)}  {each.name}  {each.path}")
