"""What a reading outside its band may mean, from the table of symptoms."""

from reworkkit import tables
from reworkkit.model.measuring import Check, Reading
from reworkkit.model.results import Symptom
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import Mode, ReadingForm

_NONE: tables.OwnTables = {}
_STILL_CHARGED = "still_charged"
"""The only row that fits volts read with the power off."""


def all_symptoms(own: tables.OwnTables = _NONE) -> tuple[Symptom, ...]:
    """Return the whole table, in its order, with a board's own rows laid over it."""
    return tuple(_symptom(row) for row in tables.rows_with("rail_symptoms", own))


def _symptom(row: tables.Row) -> Symptom:
    likely = tuple(row["likely"].split("|"))
    return Symptom(row["key"], row["reading"], likely, row["separates"], tables.source(row["source"], row["place"]))


def symptoms_of(check: Check, reading: Reading, own: tables.OwnTables = _NONE) -> tuple[Symptom, ...]:
    """Return the rows of the table that fit a reading of a check, most specific first."""
    if not isinstance(check.expect, Band) or reading.mode != check.mode:
        return ()
    at_rest = check.hold_point is None and check.mode is Mode.VOLTS
    rows = (row for row in tables.rows_with("rail_symptoms", own) if (row["key"] == _STILL_CHARGED) == at_rest)
    return tuple(_symptom(row) for row in rows if _fits(row, check.expect, reading))


def _fits(row: tables.Row, expect: Band, reading: Reading) -> bool:
    if row["mode"] != reading.mode.value or row["form"] != reading.form.value:
        return False
    if reading.form is not ReadingForm.VALUE:
        return reading.form is ReadingForm.RISING or expect.high is not None
    if reading.value is None or not row["low"]:
        return False
    base = (expect.nominal or 0.0) if row["relative"] == "yes" else 1.0
    share = reading.value / base if base else 0.0
    low, high = (tables.cell_number("rail_symptoms", row, column) for column in ("low", "high"))
    return low <= share <= high
