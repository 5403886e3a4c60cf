"""A room without furniture: a PulseAudio server of our own with a null sink, whose monitor is the microphone.

What is played into the room (by `paplay`, or by PortAudio) is what a microphone in it hears.
"""

import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from ctypes.util import find_library
from pathlib import Path

import numpy as np
import pytest

from companion.ports.sound import SAMPLE_RATE, Samples
from tests.realparts import need

_ALSA_CONF = Path("/usr/share/alsa/alsa.conf")
_PULSE_AS_DEFAULT = f"""
<{_ALSA_CONF}>
pcm.!default {{ type pulse hint {{ show on description "sound room" }} }}
ctl.!default {{ type pulse }}
"""
_FORMAT = ("--format=s16le", f"--rate={SAMPLE_RATE}", "--channels=1")
_START_S = 30.0
_STUCK_S = 30.0
"""Longer than this over the sound's own length nothing takes in a room that moves."""

OUTSIDE = {"PATH": "/usr/bin:/bin", "HOME": "/nonexistent", "XDG_RUNTIME_DIR": "/nonexistent"}
"""The environment of a process that hears and speaks nowhere, unless the machine has a sound card."""


def without_sound_card() -> None:
    """Skip a test of what happens without any sound device where there is a real one."""
    cards = Path("/proc/asound/cards")
    if cards.exists() and "no soundcards" not in cards.read_text():
        pytest.skip("this machine has a sound card")
    need(find_library("portaudio") is not None, "no PortAudio: sudo apt-get install libportaudio2")


class SoundRoom:
    """A running room. `env` is the environment of processes that are to hear and speak in it."""

    def __init__(self, folder: Path) -> None:
        run = folder / "run"
        run.mkdir(mode=0o700)
        alsa = folder / "alsa.conf"
        alsa.write_text(_PULSE_AS_DEFAULT)
        self._own = {
            "XDG_RUNTIME_DIR": str(run),
            "XDG_CONFIG_HOME": str(folder),
            "PULSE_SERVER": f"unix:{run}/pulse/native",
            "ALSA_CONFIG_PATH": str(alsa),
        }
        self.env = {**os.environ, **self._own}
        modules = (
            f"module-native-protocol-unix socket={run}/pulse/native auth-anonymous=1",
            "module-null-sink sink_name=room",
            # An idle null sink moves in steps of two seconds; a stream that never ends keeps its pace short.
            "module-null-source source_name=nothing",
            "module-loopback source=nothing sink=room latency_msec=20",
        )
        command = ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--disallow-exit", "--use-pid-file=no"]
        self._server = subprocess.Popen(
            [*command, *(word for module in modules for word in ("-L", module))],
            env={**self.env, "HOME": str(folder)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        until = time.monotonic() + _START_S
        while self._pactl("set-default-source", "room.monitor") != 0:
            if self._server.poll() is not None or time.monotonic() > until:
                self.close()
                raise RuntimeError("pulseaudio did not start")
            time.sleep(0.05)
        self._pactl("set-default-sink", "room")
        with self.recording():
            pass  # the room has begun to move

    def play(self, samples: Samples) -> None:
        """Play mono 16 kHz `samples` into the room, and return when they have sounded."""
        self._start_playing(samples).wait(samples.size / SAMPLE_RATE + _STUCK_S)

    def play_file(self, path: Path) -> None:
        """Play a sound file into the room, and return when it has sounded."""
        subprocess.run(["paplay", str(path)], env=self.env, check=True, timeout=600)

    def start_playing(self, samples: Samples) -> "subprocess.Popen[bytes]":
        """Begin to play; the caller waits for the process."""
        return self._start_playing(samples)

    def record(self, seconds: float) -> Samples:
        """What sounds in the room in the next `seconds`, mono 16 kHz."""
        with self.recording() as chunks:
            time.sleep(seconds)
        return np.concatenate(chunks)

    @contextmanager
    def recording(self) -> Iterator[list[Samples]]:
        """Record while the block runs; the list holds the sound afterwards, as one array."""
        heard: list[Samples] = []
        with tempfile.TemporaryFile() as raw:
            recorder = subprocess.Popen(
                ["parec", "--raw", "--device=room.monitor", "--latency-msec=20", *_FORMAT],
                env=self.env,
                stdout=raw,
            )
            try:
                until = time.monotonic() + _STUCK_S
                while os.fstat(raw.fileno()).st_size == 0 and recorder.poll() is None:
                    if time.monotonic() > until:
                        raise RuntimeError("the room does not move: nothing is recorded in it")
                    time.sleep(0.01)
                yield heard
            finally:
                recorder.terminate()
                recorder.wait(_STUCK_S)
                raw.seek(0)
                heard.append(np.frombuffer(raw.read(), np.int16))

    @contextmanager
    def entered(self) -> Iterator[None]:
        """PortAudio in this very process hears and speaks in the room while the block runs."""
        import sounddevice

        before = {key: os.environ.get(key) for key in self._own}
        os.environ.update(self._own)
        sounddevice._terminate()
        sounddevice._initialize()
        try:
            yield
        finally:
            for key, value in before.items():
                if value is None:
                    os.environ.pop(key, None)
                else:
                    os.environ[key] = value
            sounddevice._terminate()
            sounddevice._initialize()

    def break_down(self) -> None:
        """Kill the server: every device in the room is unplugged at once."""
        self._server.kill()
        self._server.wait()

    def close(self) -> None:
        self._server.terminate()
        try:
            self._server.wait(_STUCK_S)
        except subprocess.TimeoutExpired:
            self.break_down()

    def _start_playing(self, samples: Samples) -> "subprocess.Popen[bytes]":
        with tempfile.TemporaryFile() as raw:
            raw.write(samples.tobytes())
            raw.seek(0)
            return subprocess.Popen(
                ["paplay", "--raw", *_FORMAT],
                env=self.env,
                stdin=raw,
            )

    def _pactl(self, *words: str) -> int:
        return subprocess.run(
            ["pactl", *words], env=self.env, capture_output=True, check=False, timeout=_STUCK_S
        ).returncode


@contextmanager
def sound_room() -> Iterator[SoundRoom]:
    """A room for the length of the block; skips the test (fails it in CI) where a part of it is not installed."""
    need(shutil.which("pulseaudio") is not None, "no pulseaudio: sudo apt-get install pulseaudio")
    need(shutil.which("paplay") is not None, "no paplay: sudo apt-get install pulseaudio-utils")
    need(find_library("portaudio") is not None, "no PortAudio: sudo apt-get install libportaudio2")
    need(
        _ALSA_CONF.exists() and bool(list(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so"))),
        "no PulseAudio plugin for ALSA: sudo apt-get install libasound2-plugins",
    )
    # A short path: the name of a socket is limited to about a hundred characters.
    with tempfile.TemporaryDirectory(prefix="room") as folder:
        room = SoundRoom(Path(folder))
        try:
            yield room
        finally:
            room.close()
