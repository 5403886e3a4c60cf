"""PortAudio, loaded with care: it may be missing, and it talks to the terminal while it looks for devices."""

import atexit
import contextlib
import ctypes
import functools
import os
import platform
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from companion.errors import CompanionError

INSTALL_PORTAUDIO = "sudo apt-get install libportaudio2"
"""The line that brings PortAudio on Debian and Ubuntu; on macOS and Windows it comes with `sounddevice`."""


@dataclass(frozen=True)
class SoundDevice:
    """One microphone or loudspeaker as PortAudio lists it."""

    index: int
    name: str
    rate: int
    """Its own sample rate in hertz."""
    channels: int
    host: int
    """Index of the host interface (ALSA, WASAPI, Core Audio, ...) through which it is listed."""


def load_sounddevice(error: type[CompanionError]) -> Any:
    """The module `sounddevice` with PortAudio started. Raises `error`, saying what to install."""
    try:
        with quiet_stderr():
            import sounddevice
    except OSError as fault:
        todo = INSTALL_PORTAUDIO if platform.system() == "Linux" else "pip install --force-reinstall sounddevice"
        raise error(
            f"the PortAudio library, which reaches sound devices, is not installed; install it with: {todo}"
        ) from fault
    _hush_alsa()
    return sounddevice


CLOSING = "closing a stream"
"""Name of the thread that closes one."""
CLOSING_S = 2.0
"""A stream whose sound server has died may never close."""


def close_stream(stream: Any, limit_s: float = CLOSING_S) -> bool:
    """Close a stream of PortAudio's, or let go of it after a while: False then.

    Where PulseAudio's server dies while a stream is being read, its library can wait for itself for ever (seen with
    libpulse 16.1: one thread holds the lock and waits for memory to be given back, PortAudio's waits for the lock, and
    closing joins that one). PortAudio is then left as it is too, or it would wait at the program's end.
    """
    closing = threading.Thread(target=_close, args=(stream,), name=CLOSING, daemon=True)
    closing.start()
    closing.join(limit_s)
    if closing.is_alive():
        import sounddevice

        atexit.unregister(sounddevice._exit_handler)
    return not closing.is_alive()


def _close(stream: Any) -> None:
    import sounddevice

    with contextlib.suppress(sounddevice.PortAudioError):
        stream.close(ignore_errors=True)


def find_device(way: Literal["input", "output"], wanted: str | None, error: type[CompanionError]) -> SoundDevice:
    """The device `wanted` by its number or a part of its name; None means the system's own choice.

    Raises `error` when there is none, naming those that there are.
    """
    sounddevice = load_sounddevice(error)
    noun = "microphone" if way == "input" else "loudspeaker"
    devices = list_devices(way, error)
    if not devices:
        raise error(f"no {noun} was found; connect one, or check that the system's sound settings show it")
    if wanted is None:
        chosen = sounddevice.default.device[0 if way == "input" else 1]
        return next((device for device in devices if device.index == chosen), devices[0])
    named = [device for device in devices if wanted.strip() == str(device.index)]
    named = named or [device for device in devices if wanted.lower() == device.name.lower()]
    named = named or [device for device in devices if wanted.lower() in device.name.lower()]
    if len(named) > 1:
        usual = int(sounddevice.default.hostapi)
        named = [device for device in named if device.host == usual] or named
    if len(named) == 1:
        return named[0]
    fault = "matches more than one" if named else "is no"
    listing = "; ".join(f"{device.index}: {device.name}" for device in named or devices)
    raise error(f"{wanted!r} {fault} {noun}; give the number or a part of the name of one of: {listing}")


def list_devices(way: Literal["input", "output"], error: type[CompanionError]) -> list[SoundDevice]:
    """Every device that takes sound in (or gives it out). Raises `error` when PortAudio is missing."""
    sounddevice = load_sounddevice(error)
    key = f"max_{way}_channels"
    return [
        SoundDevice(number, entry["name"], int(entry["default_samplerate"]), entry[key], entry["hostapi"])
        for number, entry in enumerate(sounddevice.query_devices())
        if entry[key] > 0
    ]


@contextlib.contextmanager
def quiet_stderr() -> Iterator[None]:
    """Send the C libraries' own messages nowhere: ALSA and JACK report each device they do not find."""
    kept = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)


@functools.cache
def _hush_alsa() -> object:
    """Keep ALSA from writing to the terminal in the middle of a session, as it does at every hiccup of a stream.

    What is returned has to live as long as the library may call it.
    """
    if platform.system() != "Linux":
        return None
    nothing = ctypes.CFUNCTYPE(None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p)(
        lambda *_: None
    )
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(nothing)
    return nothing
