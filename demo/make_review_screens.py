"""Makes demo/screens/review-*.png: pictures of the review room over a small simulated class.

    python demo/make_review_screens.py

Needs what `make_screens.py` needs, and a checkout, since the class is that of the tests.
"""

import os
import random
import shutil
import sys
import tempfile
from pathlib import Path

from make_screens import DEMO, Camera
from playwright.sync_api import sync_playwright

from companion.clocks import RealClock
from companion.record.reader import read_record
from companion.review.cohort.base import Base
from companion.review.marks import marks_from
from companion.review.timeline import timeline
from companion.web.room.room import Room
from companion.web.room.routes import room_routes
from companion.web.server import LocalServer
from tests.left_records import rehearse, talk
from tests.record.making import key
from tests.review.cohorts import guided, mark

PAGES = {
    "sessions": "/",
    "session": "/session/{file}",
    "marking": "/session/{file}/mark?marker=27",
    "class": "/class?procedure=simple-dressing",
    "class-memory": "/class?procedure=hand-hygiene",
    "markers": "/agreement",
}


def _marked(path: Path, chance: random.Random) -> None:
    """Two markers who mostly agree."""
    skill = chance.random()
    steps = [step.id for step in timeline(read_record(path)).procedure.steps]
    truth = ["done" if chance.random() < 0.5 + skill / 2 else "not done" for _ in steps]
    for marker in ("27", "31"):
        seen = [each if chance.random() < 0.9 else "in part" for each in truth]
        items = [{"step": step, "mark": each} for step, each in zip(steps, seen, strict=True)]
        mark(path, marks_from({"marker": marker, "items": items, "rating": min(4, 1 + int(4 * skill))}))


def _told_from_memory(folder: Path, home: Path, chance: random.Random) -> None:
    """One that left something out, or took the product before choosing it."""
    said = talk(**{step: None for step, often in (("thumbs", 0.3), ("jewelry", 0.2)) if chance.random() < often})
    if chance.random() < 0.4:
        said[6], said[7] = said[7], said[6]
    shutil.copy(rehearse(home, said), folder)


def main() -> None:
    """All of them."""
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        home = Path(name)
        os.environ["COMPANION_HOME"] = str(home)
        (home / "keys").mkdir()
        (home / "keys" / "class.pub").write_text(key().public)
        folder, chance = home / "class", random.Random(7)
        paths = guided(folder, 16)
        for path in paths[:12]:
            _marked(path, chance)
        for _ in range(10):
            _told_from_memory(folder, home, chance)
        root = hasattr(os, "geteuid") and os.geteuid() == 0
        browser = driver.chromium.launch(
            executable_path=os.environ.get("COMPANION_CHROMIUM", "/usr/bin/chromium"),
            args=["--no-sandbox"] if root else [],
        )
        camera = Camera(browser, DEMO / "screens")
        (DEMO / "screens").mkdir(exist_ok=True)
        with (
            Base(folder, home / "cache") as base,
            LocalServer(room_routes(Room(folder, base, RealClock(), key()))) as server,
        ):
            tab = camera.open(server.address())
            for what, page in PAGES.items():
                if not sys.argv[1:] or what in sys.argv[1:]:
                    tab.goto(server.origin + server.door.root + page.format(file=paths[0].name))
                    camera.shoot(tab, f"review-{what}")
        browser.close()


if __name__ == "__main__":
    main()
