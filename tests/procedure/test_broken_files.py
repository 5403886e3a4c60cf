"""Every fault of every file in `tests/data/broken.yaml` is named, with its line, and no other."""

from pathlib import Path

import pytest

from companion.errors import ProcedureError
from companion.procedure.loading import load
from tests.procedure.broken import BROKEN, WHOLE, broken


def test_the_unbroken_file_has_no_faults() -> None:
    assert load(WHOLE).procedure.id == "drill"


@pytest.mark.parametrize("name", BROKEN)
def test_every_fault_and_no_other_is_named_with_its_line(name: str, tmp_path: Path) -> None:
    path = broken(name, tmp_path)
    with pytest.raises(ProcedureError) as caught:
        load(path)
    found, wanted = caught.value.faults, BROKEN[name]["faults"]
    assert len(found) == len(wanted), found
    for message, (line, culprit, accepted) in zip(found, wanted, strict=True):
        start, _, rest = message.partition(": ")
        assert start == f"{path}:{line}"
        assert culprit in rest
        assert accepted in rest
        assert "\n" not in message
