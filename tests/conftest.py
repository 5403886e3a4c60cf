"""For every test: nothing may be left running when it ends; and which tests share a process."""

import signal
import threading
import time
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from xdist.remote import Producer
from xdist.scheduler import LoadFileScheduling
from xdist.workermanage import WorkerController

from companion.soundcard import CLOSING
from tests.commands import kept
from tests.demo_session import DemoSession, demo_session
from tests.left_records import LeftRecords, left_records

_TESTS = Path(__file__).parent
_ENDING_S = 20.0
"""How long a thread or process that is already on its way out may take, on a machine that does much else."""
_SOUND = "real sound"


def _children() -> set[int]:
    """Processes started by this one and not yet waited for. Read from /proc; empty where there is none."""
    found: set[int] = set()
    for task in Path("/proc/self/task").glob("*/children"):
        try:
            found.update(int(word) for word in task.read_text().split())
        except OSError:  # the thread ended while we looked
            continue
    return found


def _name(pid: int) -> str:
    try:
        words = Path(f"/proc/{pid}/cmdline").read_bytes().decode().split("\0")
    except OSError:
        return str(pid)
    return f"{pid} ({' '.join(words).strip()})"


@cache
def _plays(file: str) -> bool:
    return "from tests.soundroom import" in (_TESTS.parent / file).read_text(encoding="utf-8")


class FilesAndSound(LoadFileScheduling):  # type: ignore[misc]  # xdist has no types
    """A file of tests stays in one process, since its tests share what they make. All that play real sound share
    one, and come last, when the other processes have gone: sound is lost where a machine stands still for a moment."""

    def _split_scope(self, nodeid: str) -> str:
        file = nodeid.partition("::")[0]
        return _SOUND if _plays(file) else file

    def _assign_work_unit(self, node: WorkerController) -> None:
        if _SOUND in self.workqueue:
            self.workqueue.move_to_end(_SOUND)
        super()._assign_work_unit(node)

    def _reschedule(self, node: WorkerController) -> None:
        others = [each for each in self.nodes if each is not node and not each.shutting_down]
        if list(self.workqueue) == [_SOUND] and others and self._pending_of(self.assigned_work[node]) <= 2:
            node.shutdown()  # it ends what it has
        super()._reschedule(node)


def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> FilesAndSound:
    return FilesAndSound(config, log)


@pytest.fixture(scope="session")
def demo_made(tmp_path_factory: pytest.TempPathFactory) -> DemoSession:
    """What `companion demo` leaves; read only."""
    return demo_session(tmp_path_factory)


@pytest.fixture(scope="session")
def left_made(demo_made: DemoSession, tmp_path_factory: pytest.TempPathFactory) -> LeftRecords:
    """A record of each kind that the commands leave, made once."""
    return left_records(tmp_path_factory, demo_made.home)


@pytest.fixture(scope="session", autouse=True)
def interruptible() -> Iterator[None]:
    """What a shell starts in the background ignores SIGINT, and so would every program that a test starts: Ctrl-C is
    to count there. A handler, unlike ignoring, is not inherited."""
    before = signal.getsignal(signal.SIGINT)
    if before is signal.SIG_IGN and threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, signal.default_int_handler)
        yield
        signal.signal(signal.SIGINT, before)
    else:
        yield


@pytest.fixture(autouse=True)
def nothing_left_running() -> Iterator[None]:
    """Fail a test that leaves a thread or a child process behind."""
    threads_before = set(threading.enumerate())
    children_before = _children()
    yield
    until = time.monotonic() + _ENDING_S
    while True:
        now = [thread for thread in threading.enumerate() if thread not in threads_before and thread.is_alive()]
        # A stream whose sound server was killed may never close (`companion.soundcard`); it is let go of on purpose.
        threads = [thread for thread in now if thread.name != CLOSING]
        children = _children() - children_before - kept()
        if not threads and not children:
            return
        if time.monotonic() > until:
            break
        time.sleep(0.02)
    left = [f"thread {thread.name!r}" for thread in threads] + [f"process {_name(pid)}" for pid in sorted(children)]
    pytest.fail(f"left running: {', '.join(left)}")
