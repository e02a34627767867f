"""What a reading outside its band may mean, from the table of symptoms."""

from functools import cache

from reworkkit import tables
from reworkkit.model.measuring import Check, Reading
from reworkkit.model.results import Symptom
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import ReadingForm


@cache
def all_symptoms() -> tuple[Symptom, ...]:
    """Return the whole table, in its order."""
    return tuple(_symptom(row) for row in tables.rows("rail_symptoms"))


def _symptom(row: tables.Row) -> Symptom:
    likely = tuple(row["likely"].split("|"))
    return Symptom(row["key"], row["reading"], likely, row["separates"], tables.source(row["source"], row["place"]))


def symptoms_of(check: Check, reading: Reading) -> tuple[Symptom, ...]:
    """Return the rows of the table that fit a reading of a check, most specific first."""
    if not isinstance(check.expect, Band) or reading.mode != check.mode:
        return ()
    return tuple(_symptom(row) for row in tables.rows("rail_symptoms") if _fits(row, check.expect, reading))


def _fits(row: tables.Row, expect: Band, reading: Reading) -> bool:
    if row["mode"] != reading.mode.value or row["form"] != reading.form.value:
        return False
    if reading.form is ReadingForm.RISING:
        return True
    if reading.value is None or not row["low"]:
        return False
    base = (expect.nominal or 0.0) if row["relative"] == "yes" else 1.0
    share = reading.value / base if base else 0.0
    return float(row["low"]) <= share <= float(row["high"])
