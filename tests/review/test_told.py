"""What a record's entries are told as. Sessions of before kept what an engine only compared with as what was heard."""

import pytest

from companion.review.timeline import told
from companion.session.events import Missed


@pytest.mark.parametrize(
    ("nearest", "shown"),
    [
        ("no back", "not taken: it was not clear enough"),
        ("go back", 'not taken: it sounded like `go back`, nearest "go back"'),
        (None, "not taken: too faint"),
    ],
)
def test_only_what_could_be_said_is_told_as_heard(nearest: str | None, shown: str) -> None:
    reason = "too faint" if nearest is None else f"it sounded like `{nearest}`"
    assert told(Missed(at_ms=1, why="unclear", nearest=nearest, reason=reason), {"go back", "pause"}) == shown
