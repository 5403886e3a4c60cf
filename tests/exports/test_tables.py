"""The tables, read by DuckDB, which knows CSV (RFC 4180) and Parquet on its own."""

import importlib.util
import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from companion.errors import UsageError
from companion.exports.source import Source
from companion.exports.tables import COLUMNS, rows, steps_csv, to_parquet
from tests.realparts import need


@pytest.fixture
def ask(tmp_path: Path) -> Any:
    """Asks DuckDB; `steps` is the Parquet file, `lines` the CSV file."""
    need(importlib.util.find_spec("duckdb") is not None, "DuckDB is missing: pip install duckdb")
    import duckdb

    def answer(sources: list[Source], question: str) -> list[tuple[Any, ...]]:
        table = [row for source in sources for row in rows(source)]
        (tmp_path / "steps.parquet").write_bytes(to_parquet(table))
        (tmp_path / "steps.csv").write_bytes(steps_csv(table))
        with duckdb.connect() as base:
            base.execute(f"CREATE VIEW steps AS SELECT * FROM '{tmp_path}/steps.parquet'")
            base.execute(f"CREATE VIEW lines AS SELECT * FROM read_csv('{tmp_path}/steps.csv', all_varchar = true)")
            found: list[tuple[Any, ...]] = base.execute(question).fetchall()
            return found

    return answer


def test_durations_are_those_of_the_timeline(each: Source, ask: Any) -> None:
    found = ask([each], "SELECT step, at_ms, took_ms, tries FROM steps ORDER BY place")
    assert found == [(done.step, done.at_ms, done.took_ms, done.tries) for done in each.told.confirmed]
    whole = ask([each], "SELECT sum(took_ms)::BIGINT, max(at_ms) FROM steps")[0]
    assert whole == (each.told.confirmed[-1].at_ms,) * 2


def test_times_are_whole_milliseconds_and_figures_text(made: Callable[[str], Source], ask: Any) -> None:
    kinds = dict(ask([made("insulin")], "SELECT column_name, column_type FROM (DESCRIBE steps)"))
    assert tuple(kinds) == COLUMNS
    assert kinds["at_ms"] == kinds["took_ms"] == kinds["tries"] == "BIGINT"
    assert kinds["value"] == kinds["phrases"] == "VARCHAR"
    assert not [kind for kind in kinds.values() if kind in ("DOUBLE", "FLOAT")]
    (volume,) = ask([made("insulin")], "SELECT value::DECIMAL(18, 3), unit FROM steps WHERE step = 'volume'")
    assert volume == (Decimal("18.000"), "units")


def test_csv_and_parquet_say_the_same(each: Source, ask: Any) -> None:
    plain = ", ".join(f"coalesce({name}::VARCHAR, '')" for name in COLUMNS)
    assert ask([each], f"SELECT {plain} FROM lines") == ask([each], f"SELECT {plain} FROM steps")


def test_several_sessions_make_one_table(made: Callable[[str], Source], ask: Any) -> None:
    sources = [made("insulin"), made("drill"), made("open")]
    found = dict(ask(sources, "SELECT session, count(*) FROM steps GROUP BY session"))
    assert found == {str(source.session): len(source.told.confirmed) for source in sources}
    assert ask(sources, "SELECT DISTINCT way, outcome FROM steps ORDER BY 2") == [
        ("guided", "finished"),
        ("guided", "open"),
    ]


def test_a_hidden_figure_stays_hidden_until_it_is_opened(made: Callable[[str], Source], ask: Any) -> None:
    (row,) = ask([made("insulin")], "SELECT phrases, value FROM steps WHERE step = 'double-check'")
    assert row == ("two seven; yes; (hidden); (hidden)", "")


def test_no_steps_make_an_empty_table(ask: Any) -> None:
    assert ask([], "SELECT count(*) FROM steps") == [(0,)]


def test_parquet_without_duckdb_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "duckdb", None)
    with pytest.raises(UsageError, match="pip install duckdb"):
        to_parquet([])
    assert steps_csv([]).decode().strip() == ",".join(COLUMNS)
