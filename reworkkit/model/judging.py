"""What a reading says of a check. The page's script passes the same case table, tests/cases/judging.json."""

from collections.abc import Mapping

from reworkkit.model.measuring import Check, Expectation, Judgement, Reading
from reworkkit.model.messages import Message, message
from reworkkit.model.steps import DISCHARGED_V
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import Mode, ReadingForm, ReadingVerdict

_INSIDE, _OUTSIDE, _OPEN = ReadingVerdict.INSIDE, ReadingVerdict.OUTSIDE, ReadingVerdict.NOT_JUDGED


def point_key(text: str) -> str:
    """Return a point in one spelling: single blanks, capitals, `to` between two points; `supply` stays as it is.

    >>> point_key(" v33  to V5 "), point_key("supply")
    ('V33 to V5', 'supply')
    """
    words = text.split()
    if [word.lower() for word in words] == ["supply"]:
        return "supply"
    return " ".join("to" if word.lower() == "to" else word.upper() for word in words)


def point_meant(point: str, aliases: Mapping[str, str]) -> str:
    """Return a point (in the spelling of `point_key`) with names of test points replaced by what they stand for.

    A ground net stands for nothing: a second end on ground is left out, as points are against ground anyway.

    >>> point_meant("TP3 to TP4", {"TP3": "+3V3", "TP4": "GND"}), point_meant("TP3", {}), point_meant("supply", {})
    ('+3V3 to GND', 'TP3', 'supply')
    >>> point_meant("TP3 to TP4", {"TP3": "+3V3", "TP4": "GND", "GND": ""})
    '+3V3'
    """
    ends = [aliases.get(end) or end for end in point.split(" to ")]
    if len(ends) == 2 and aliases.get(ends[1]) == "":
        ends = ends[:1]
    return " to ".join(ends)


def is_zero(reading: Reading) -> bool:
    """Return whether a reading says that a point is discharged: volts, and under the limit for work."""
    is_value = reading.mode is Mode.VOLTS and reading.form is ReadingForm.VALUE
    return is_value and reading.value is not None and abs(reading.value) < DISCHARGED_V


def judge(check: Check, reading: Reading) -> Judgement:
    """Return whether the reading is inside or outside what the check expects, or why that is not judged.

    The rules, in order: mode and hold point must be those of the check; a reading with swapped leads needs an
    expectation for swapped leads; a display that jumps is judged only where jumping is expected; a form is
    compared with a form; a band takes a value of its own unit, ends included. `OL` lies above every value:
    inside a band only where the band is open upwards. A rising display is judged by the value it reached.
    """
    expected = check.swapped if reading.leads_swapped else check.expect
    verdict, why = _verdict(check, reading, expected)
    return Judgement(check.id, reading, verdict, why)


def _verdict(check: Check, reading: Reading, expected: Expectation | None) -> tuple[ReadingVerdict, Message]:
    if reading.mode != check.mode:
        return _OPEN, message("reading-other-mode", point=check.point.text, mode=check.mode, got=reading.mode)
    if reading.hold_point != check.hold_point:
        return _OPEN, message("reading-other-stage", point=check.point.text, stage=check.hold_point or "unpowered")
    if expected is None:
        return _OPEN, message("reading-no-expectation", point=check.point.text)
    if isinstance(expected, Band):
        return _against_band(reading, expected)
    if reading.form == expected:
        return _INSIDE, message("reading-form-inside", reading=reading.text, expected=expected)
    if reading.form is ReadingForm.JUMPS:
        return _OPEN, message("reading-jumps", point=check.point.text)
    return _OUTSIDE, message("reading-form-outside", reading=reading.text, expected=expected)


def _against_band(reading: Reading, band: Band) -> tuple[ReadingVerdict, Message]:
    if reading.form is ReadingForm.JUMPS:
        return _OPEN, message("reading-jumps", point=reading.point)
    if reading.form is ReadingForm.OVER_RANGE:
        return _said(band.high is None, reading, band)
    if reading.value is None:
        return _OPEN, message("reading-without-value", reading=reading.text)
    if reading.unit != band.unit:
        return _OPEN, message("reading-other-unit", reading=reading.text, unit=band.unit)
    low_enough = band.high is None or reading.value <= band.high
    return _said(low_enough and (band.low is None or reading.value >= band.low), reading, band)


def _said(inside: bool, reading: Reading, band: Band) -> tuple[ReadingVerdict, Message]:
    if inside:
        return _INSIDE, message("reading-inside", reading=reading.text, band=band)
    return _OUTSIDE, message("reading-outside", reading=reading.text, band=band)
