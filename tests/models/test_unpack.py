"""What a downloaded archive may hold: never a path that leads elsewhere, nor more than the catalogue says."""

import zipfile
from pathlib import Path

import pytest

from companion.errors import ModelError
from companion.models.catalogue import Model
from companion.models.unpack import unpack
from tests.models.making import FILES, PREFIX, bundle, entry


@pytest.mark.parametrize("name", ["../outside", "a/../../outside", "/etc/outside", "C:/outside", "..\\outside"])
def test_paths_that_lead_outside(tmp_path: Path, name: str) -> None:
    model = Model.model_validate(entry(files={}))
    archive = tmp_path / "evil.zip"
    archive.write_bytes(bundle({PREFIX + name: b"x"}))
    with pytest.raises(ModelError, match="leads elsewhere"):
        unpack(archive, model, tmp_path / "model")
    assert not list(tmp_path.rglob("outside"))


def test_a_link_is_refused(tmp_path: Path) -> None:
    link = zipfile.ZipInfo(PREFIX + "final.mdl")
    link.external_attr = 0o120777 << 16
    with zipfile.ZipFile(tmp_path / "evil.zip", "w") as packed:
        packed.writestr(link, "/etc/passwd")
    with pytest.raises(ModelError, match="leads elsewhere"):
        unpack(tmp_path / "evil.zip", Model.model_validate(entry(files={})), tmp_path / "model")


def test_a_bomb_is_stopped(tmp_path: Path) -> None:
    """A megabyte of zeros packs to a kilobyte; no more than the catalogue's size is ever written."""
    with zipfile.ZipFile(tmp_path / "bomb.zip", "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr(PREFIX + "final.mdl", bytes(1_000_000))
    with pytest.raises(ModelError, match="more than the catalogue says"):
        unpack(tmp_path / "bomb.zip", Model.model_validate(entry(files={}, size=5000)), tmp_path / "model")
    assert not list((tmp_path / "model").rglob("final.mdl"))


@pytest.mark.parametrize("content", [b"", b"no zip file at all", bundle(FILES)[:-40], bundle({"elsewhere": b"x"})])
def test_what_is_not_the_archive(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "a.zip").write_bytes(content)
    with pytest.raises(ModelError, match="nothing was kept"):
        unpack(tmp_path / "a.zip", Model.model_validate(entry()), tmp_path / "model")
