"""What a person writes down from a meter: `3.31V`, `4k7`, `OL`, `rising to 2M`, `jumps`."""

import re
from typing import NamedTuple

from reworkkit.model.quantity import parse_quantity
from reworkkit.model.vocabulary import Mode, ReadingForm

_OVER_RANGE = re.compile(r"\.?[o0]\.?l\.?|over[ _-]?range|overload|inf(?:inite)?|∞|open", re.IGNORECASE)
_JUMPS = re.compile(r"jump(?:s|ing|y)|unsteady|unstable|springt", re.IGNORECASE)
_RISING = re.compile(
    r"(?:rising|rises|climbing|climbs|steigend|steigt)(?: (?:to|towards|up to|auf|bis))?(?: (?P<end>.+))?",
    re.IGNORECASE,
)


class ReadingText(NamedTuple):
    """A reading taken apart; `unit` is empty where none was written, `value` is in it (volt, ampere, ohm, degree C).

    With form `rising`, `value` is what it rose to, or None where that was not written; `over_range` and `jumps` have
    no value.
    """

    form: ReadingForm
    value: float | None
    unit: str


def parse_reading(text: str) -> ReadingText | None:
    """Return what the meter showed, or None where the text is no reading.

    >>> parse_reading("3.31V"), parse_reading("rising to 2M")
    (ReadingText(form=<ReadingForm.VALUE: 'value'>, value=3.31, unit='V'), \
ReadingText(form=<ReadingForm.RISING: 'rising'>, value=2000000.0, unit='ohm'))
    >>> parse_reading("OL").form, parse_reading("about 3") is None
    (<ReadingForm.OVER_RANGE: 'over_range'>, True)
    """
    clean = " ".join(text.split())
    if _OVER_RANGE.fullmatch(clean):
        return ReadingText(ReadingForm.OVER_RANGE, None, "")
    if _JUMPS.fullmatch(clean):
        return ReadingText(ReadingForm.JUMPS, None, "")
    if rising := _RISING.fullmatch(clean):
        return _rising(rising["end"])
    found = parse_quantity(clean)
    return ReadingText(ReadingForm.VALUE, float(found.value), found.unit) if found else None


def _rising(written: str | None) -> ReadingText | None:
    if not written:
        return ReadingText(ReadingForm.RISING, None, "")
    end = parse_quantity(written)
    return ReadingText(ReadingForm.RISING, float(end.value), end.unit) if end else None


_MODE_OF_UNIT = {"V": Mode.VOLTS, "A": Mode.AMPS, "ohm": Mode.OHMS, "C": Mode.CELSIUS}
_UNIT_OF_MODE = {
    Mode.VOLTS: "V",
    Mode.DIODE: "V",
    Mode.AMPS: "A",
    Mode.OHMS: "ohm",
    Mode.CONTINUITY: "ohm",
    Mode.CELSIUS: "C",
}


def settled_mode(reading: ReadingText, mode: Mode | None = None) -> tuple[Mode, str] | None:
    """Return the mode and unit of a reading: from its unit, unless `mode` says otherwise; None where they clash.

    A reading without unit needs the mode, except a rising one: only ohms rise so.

    >>> settled_mode(ReadingText(ReadingForm.VALUE, 3.31, "V"))
    (<Mode.VOLTS: 'volts'>, 'V')
    >>> settled_mode(ReadingText(ReadingForm.VALUE, 0.59, ""), Mode.DIODE), settled_mode(
    ...     ReadingText(ReadingForm.OVER_RANGE, None, ""))
    ((<Mode.DIODE: 'diode'>, 'V'), None)
    """
    told = mode or _MODE_OF_UNIT.get(reading.unit)
    if told is None and reading.form is ReadingForm.RISING and not reading.unit:
        told = Mode.OHMS
    if told is None:
        return None
    unit = _UNIT_OF_MODE.get(told, reading.unit)
    return (told, unit) if reading.unit in ("", unit) else None
