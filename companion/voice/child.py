"""The speech engine's own process: JSON lines in, sound files out.

It stands alone (only pyttsx3 and the standard library) and is run as a script, so that an engine that hangs or
crashes takes nothing with it. One line out when it starts, then one line for each line in:

    -> {"ready": true, "voice": "...", "languages": ["en-us", ...]}  or  {"ready": false, "why": "..."}
    <- {"text": "...", "path": "..."}
    -> {"path": "..."}  or  {"error": "..."}
"""

import json
import os
import sys
import threading
from pathlib import Path
from typing import Any, TextIO

NO_ENGINE = "engine"
NO_LANGUAGE = "language"
"""What `missing` says when it is not ready: no speech engine at all, or none of its voices has the language."""


def plain_tag(tag: object) -> str:
    """A language tag in one spelling: lower case, parts joined by hyphens; engines write en-US, en_US and b'en-us'."""
    text = tag.decode("utf-8", "ignore") if isinstance(tag, bytes) else str(tag)
    return text.strip("\x00\x01\x02\x03\x04\x05 ").replace("_", "-").lower()


def choose_voice(language: str, voices: list[tuple[str, list[str]]]) -> str | None:
    """The id of the voice for `language`, from (id, tags) pairs: the very tag, a wider one, or another of its kind."""
    wanted = plain_tag(language)
    first = wanted.split("-")[0]
    best: tuple[int, str] | None = None
    for voice_id, tags in voices:
        for tag in map(plain_tag, tags):
            if tag == wanted:
                rank = 0
            elif tag == first or tag.startswith(wanted + "-"):
                rank = 1
            elif tag.split("-")[0] == first:
                rank = 2
            else:
                continue
            if best is None or rank < best[0]:
                best = rank, voice_id
    return None if best is None else best[1]


class Renderer:
    """pyttsx3 behind one call. A new engine for each prompt: some platforms fall silent after the first."""

    def __init__(self, language: str, rate: int) -> None:
        self._rate = rate
        voices = [(str(voice.id), list(voice.languages or [])) for voice in self._engine().getProperty("voices")]
        self.languages = sorted({plain_tag(tag) for _, tags in voices for tag in tags})
        self.voice = choose_voice(language, voices)

    def render(self, text: str, path: str) -> None:
        """Write `text`, spoken, to `path`. Raises RuntimeError with the engine's reason."""
        engine = self._engine()
        faults: list[Exception] = []
        written = threading.Event()
        engine.connect("error", lambda name, exception: faults.append(exception))  # noqa: ARG005 - called by keyword
        engine.connect("finished-utterance", lambda name, completed: written.set())  # noqa: ARG005 - as above
        engine.setProperty("voice", self.voice)
        engine.setProperty("rate", self._rate)
        engine.save_to_file(text, path)
        engine.runAndWait()
        if engine.driver_name == "espeak" and not faults:
            written.wait()  # its thread may still be writing when runAndWait returns; the parent limits the time
        if faults:
            raise RuntimeError(str(faults[0]))
        if not Path(path).exists():
            raise RuntimeError("the engine wrote no sound")

    @staticmethod
    def _engine() -> Any:
        from pyttsx3.engine import Engine

        return Engine()


def serve(language: str, rate: int, lines_in: TextIO, lines_out: TextIO) -> None:
    """Answer until `lines_in` ends, which it also does when the parent dies."""

    def answer(message: dict[str, object]) -> None:
        lines_out.write(json.dumps(message) + "\n")
        lines_out.flush()

    try:
        renderer = Renderer(language, rate)
    except Exception as fault:  # an engine may fail in any way; the parent turns it into a sentence
        answer({"ready": False, "missing": NO_ENGINE, "why": str(fault), "languages": []})
        return
    if renderer.voice is None:
        answer({"ready": False, "missing": NO_LANGUAGE, "why": "", "languages": renderer.languages})
        return
    answer({"ready": True, "voice": renderer.voice, "languages": renderer.languages})
    for line in lines_in:
        request = json.loads(line)
        try:
            renderer.render(request["text"], request["path"])
        except Exception as fault:  # as above
            answer({"error": str(fault) or type(fault).__name__})
        else:
            answer({"path": request["path"]})


def main() -> None:
    """`child.py LANGUAGE RATE`. Engines print to standard output, so the answers get a descriptor of their own."""
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    serve(sys.argv[1], int(sys.argv[2]), sys.stdin, answers)


if __name__ == "__main__":
    main()
