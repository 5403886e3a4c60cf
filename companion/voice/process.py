"""The parent's side of the speech process: start it, ask it with a time limit, end it."""

import json
import platform
import queue
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

from companion.errors import VoiceError
from companion.voice import child

INSTALL_ESPEAK = "sudo apt-get install espeak-ng"
"""The line that brings a speech engine on Debian and Ubuntu; macOS and Windows have one built in."""

READY_LIMIT_S = 10.0
"""A first start on Windows builds its speech bindings, which takes seconds."""


class SpeechProcess:
    """One child that renders text to sound files. Every call has a time limit; a child that misses it is killed."""

    def __init__(self, language: str, rate: int, ready_s: float = READY_LIMIT_S) -> None:
        """Starts the child and waits until it has an engine. Raises VoiceError, saying what to install."""
        self.language = language
        self.rate = rate
        self._ready_s = ready_s
        self._answers: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._child = subprocess.Popen(
            [sys.executable, child.__file__, language, str(rate)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            encoding="utf-8",
            start_new_session=True,  # a Ctrl-C in the terminal is the parent's to handle
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
        self._reader = threading.Thread(target=self._read, name="voice answers", daemon=True)
        self._reader.start()
        try:
            hello = self._answer(ready_s)
            if not hello["ready"]:
                raise VoiceError(_what_is_missing(hello, language))
        except VoiceError:
            self.close()
            raise
        self.voice: str = hello["voice"]
        """The engine's name for the voice chosen."""

    @property
    def pid(self) -> int:
        return self._child.pid

    def render(self, text: str, path: Path, limit_s: float) -> None:
        """Write `text`, spoken, to `path`. Raises VoiceError; the process is then not to be used again."""
        try:
            assert self._child.stdin is not None  # it was opened as a pipe
            self._child.stdin.write(json.dumps({"text": text, "path": str(path)}) + "\n")
            self._child.stdin.flush()
        except OSError as fault:
            raise VoiceError("the voice has stopped working") from fault
        answer = self._answer(limit_s)
        if "error" in answer:
            raise VoiceError(f"the voice could not say this ({answer['error']})")

    def again(self) -> "SpeechProcess":
        """A new process like this one, after `close`. Raises VoiceError."""
        return SpeechProcess(self.language, self.rate, self._ready_s)

    def close(self) -> None:
        """End the child, by force when it does not go on its own."""
        try:
            assert self._child.stdin is not None  # it was opened as a pipe
            self._child.stdin.close()
            self._child.wait(0.3)
        except (OSError, subprocess.TimeoutExpired):
            self._child.kill()
            self._child.wait()
        self._reader.join()
        assert self._child.stdout is not None  # it was opened as a pipe
        self._child.stdout.close()

    def _answer(self, limit_s: float) -> dict[str, Any]:
        try:
            line = self._answers.get(timeout=limit_s)
        except queue.Empty:
            self._child.kill()
            raise VoiceError(f"the voice did not answer within {limit_s:g} s") from None
        if line is None:
            raise VoiceError("the voice has stopped working")
        try:
            answer = json.loads(line)
        except ValueError as fault:
            raise VoiceError("the voice gave an answer that makes no sense") from fault
        return dict(answer)

    def _read(self) -> None:
        assert self._child.stdout is not None  # it was opened as a pipe
        for line in self._child.stdout:
            self._answers.put(line)
        self._answers.put(None)


def _what_is_missing(hello: dict[str, Any], language: str) -> str:
    on_linux = platform.system() == "Linux"
    if hello.get("missing") == child.NO_LANGUAGE:
        todo = f"install one with: {INSTALL_ESPEAK}" if on_linux else "add one in the system's speech settings"
        return f"none of the installed voices speaks {language}; {todo}"
    todo = f"install it with: {INSTALL_ESPEAK}" if on_linux else "check the system's speech settings"
    return f"no speech engine was found; {todo}"
