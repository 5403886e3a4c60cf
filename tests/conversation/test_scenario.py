"""Scenarios and scripts that are none: one sentence with what is accepted."""

from pathlib import Path

import pytest

from companion.conversation.scenario import load_scenario
from companion.errors import UsageError


@pytest.mark.parametrize("text", ["- one\n- two\n", "just a word\n", "", "12\n"])
def test_a_file_without_keys_is_told_which_it_needs(tmp_path: Path, text: str) -> None:
    path = tmp_path / "scenario.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(UsageError) as told:
        load_scenario(path)
    keys = "scenario, about, procedure, start, cues"
    assert str(told.value) == f"{path}: the scenario holds no keys; accepted: a mapping with {keys}"
