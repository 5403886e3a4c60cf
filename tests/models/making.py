"""A tiny model to be fetched: its files, a zip of some, and its entry in a catalogue."""

import hashlib
import io
import zipfile

FILES = {"am/final.mdl": b"acoustic" * 4000, "conf/model.conf": b"--beam=10\n"}
PREFIX = "tiny_model/model/"


def bundle(files: dict[str, bytes]) -> bytes:
    """A zip file of these."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        for name, content in files.items():
            packed.writestr(name, content)
    return out.getvalue()


def entry(**changes: object) -> dict[str, object]:
    """A catalogue entry for the tiny model."""
    return {
        "id": "tiny",
        "name": "A tiny model",
        "language": "en-US",
        "engine": "vosk",
        "licence": "none, made here",
        "source": {"wheel": "tiny-model==1.0", "folder": PREFIX},
        "download": 33_000,
        "size": sum(map(len, FILES.values())),
        "files": {
            name: {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
            for name, content in FILES.items()
        },
        **changes,
    }
