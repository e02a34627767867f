"""Shipped tables: CSV files whose every row names its source, and the list of sources.

A file of the same name in a `tables/` folder of the board overrides rows by their first column; such rows show the
source `yours`. A lookup may answer None: there is no nearest match.
"""

import csv
import io
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.model.values import Source
from reworkkit.model.vocabulary import Honesty

Row = dict[str, str]


@cache
def rows(name: str) -> tuple[Row, ...]:
    """Return the shipped table `name` (without .csv) as one dict per row; lines that start with # are comments."""
    text = (files(__package__) / f"{name}.csv").read_text(encoding="utf-8")
    return _parse(name, text)


OwnTables = Mapping[str, tuple[Row, ...]]


OVERRIDABLE = (
    "alloys",
    "circuit_defaults",
    "diode_pinouts",
    "forward_drops",
    "heat_limits",
    "operation_minutes",
    "order_constraints",
    "packages",
    "priors",
    "rail_symptoms",
    "regulators",
    "spares",
    "washing",
)
"""The tables whose rows a board may overrule; a file of another name would do nothing, so it is refused."""


def own_tables(folder: Path | None) -> OwnTables:
    """Return the tables in the folder `tables/` of a board, by name; raises ReworkkitError for one nobody knows."""
    if folder is None or not (folder / "tables").is_dir():
        return {}
    paths = sorted((folder / "tables").glob("*.csv"))
    return {path.stem: _own(path.stem, path.read_text(encoding="utf-8-sig")) for path in paths}


def _own(name: str, text: str) -> tuple[Row, ...]:
    if not (files(__package__) / f"{name}.csv").is_file():
        raise ReworkkitError("table-unknown", table=name)
    if name not in OVERRIDABLE:
        raise ReworkkitError("table-not-yours", table=name, known=", ".join(OVERRIDABLE))
    shipped = rows(name)
    key = next(iter(shipped[0]))
    mine = tuple(row | {"source": "yours", "place": f"{name}.csv"} for row in _parse(name, text))
    if unknown := {column for row in mine for column in row} - set(shipped[0]):
        raise ReworkkitError("table-unknown-column", table=name, columns=", ".join(sorted(unknown)))
    if not all(row.get(key) for row in mine):
        raise ReworkkitError("table-row-without-key", table=name, column=key)
    return mine


def rows_with(name: str, own: OwnTables) -> tuple[Row, ...]:
    """Return the table with a board's own rows laid over it by first column; such rows have the source `yours`."""
    shipped = rows(name)
    if name not in own:
        return shipped
    key = next(iter(shipped[0]))
    kept = {row[key]: row for row in shipped}
    return tuple({**kept, **{row[key]: kept.get(row[key], {}) | row for row in own[name]}}.values())


def cell_number(name: str, row: Row, column: str) -> float:
    """Return a cell of a table as a number; raises ReworkkitError for one that is none, as a person may write it."""
    try:
        return float(row[column])
    except ValueError as error:
        raise ReworkkitError("table-not-a-number", table=name, column=column, written=row[column]) from error


def rows_for(name: str, folder: Path | None) -> tuple[Row, ...]:
    """Return the table with the rows of `folder`/tables/`name`.csv laid over it by first column."""
    return rows_with(name, own_tables(folder))


def _parse(name: str, text: str) -> tuple[Row, ...]:
    lines = (line for line in io.StringIO(text) if line.strip() and not line.startswith("#"))
    found = []
    for row in csv.DictReader(lines, restkey=""):
        if "" in row:
            raise ReworkkitError("table-row-too-long", table=name, row=next(iter(row.values())) or "")
        found.append({k: (v or "").strip() for k, v in row.items()})
    return tuple(found)


@cache
def sources() -> dict[str, dict[str, str]]:
    """Return sources.toml: key -> title, honesty, and address or edition where there is one."""
    return tomllib.loads((files(__package__) / "sources.toml").read_text(encoding="utf-8"))


def source(key: str, place: str = "") -> Source:
    """Return the source record for a key of sources.toml; `yours` stands for the board's own tables folder."""
    if key == "yours":
        return Source(key, place, Honesty.YOURS)
    return Source(key, place, Honesty(sources()[key]["honesty"]))
