"""A board's own tables win over the shipped ones, row by row, and bad ones are refused with a message."""

from pathlib import Path

import pytest

from reworkkit.compute.work_order import catalogue
from reworkkit.errors import ReworkkitError
from reworkkit.tables import own_tables, rows, rows_with, source


def write(folder: Path, name: str, text: str) -> Path:
    (folder / "tables").mkdir()
    (folder / "tables" / name).write_text(text, encoding="utf-8")
    return folder


def test_one_row_is_laid_over_and_shows_the_source_yours(tmp_path: Path) -> None:
    own = own_tables(write(tmp_path, "operation_minutes.csv", "kind,minutes_each\nsolder,9\n"))
    found = {row["kind"]: row for row in rows_with("operation_minutes", own)}
    assert found["solder"]["minutes_each"] == "9"
    assert (
        found["solder"]["minutes_once"] == {r["kind"]: r for r in rows("operation_minutes")}["solder"]["minutes_once"]
    )
    assert source(found["solder"]["source"]).honesty == "yours"
    assert found["wash"]["source"] != "yours"


def test_weights_of_constraints_can_be_changed(tmp_path: Path) -> None:
    own = own_tables(write(tmp_path, "order_constraints.csv", "slug,weight\nlow-before-high,99\n"))
    assert catalogue(own)["low-before-high"].weight == 99


@pytest.mark.parametrize(
    ("name", "text", "slug"),
    [
        ("gadgets.csv", "a,b\n1,2\n", "table-unknown"),
        ("washing.csv", "kind,colour\nrelay,red\n", "table-unknown-column"),
        ("washing.csv", "kind,washable\n,yes\n", "table-row-without-key"),
    ],
)
def test_bad_tables_are_refused(tmp_path: Path, name: str, text: str, slug: str) -> None:
    with pytest.raises(ReworkkitError) as refused:
        own_tables(write(tmp_path, name, text))
    assert refused.value.message.slug == slug
