"""Bands of electrical figures: stated by the list or board.toml, else from the tables, which is then said."""

import re
from functools import cache

from reworkkit import tables
from reworkkit.errors import ReworkkitError
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.values import Band, Quantity
from reworkkit.model.vocabulary import BandBasis

_TABLE, _STATED = BandBasis.TABLE, BandBasis.STATED


def exact(value: float, unit: str) -> Band:
    """Return a band without width."""
    return Band(value, value, value, unit, _TABLE)


def around(value: float, percent: float, unit: str, basis: BandBasis = _STATED) -> Band:
    """Return a band of plus and minus a percentage.

    >>> b = around(5.0, 4, "V")
    >>> b.low, b.high
    (4.8, 5.2)
    """
    part = abs(value) * percent / 100
    return Band(value - part, value, value + part, unit, basis)


def of_cell(cell: str, unit: str, scale: float = 1.0) -> Band:
    """Return a cell of a table, "least usual most" times `scale`, as a band.

    >>> of_cell("2 4 8", "A", 1e-3).high
    0.008
    """
    least, usual, most = (scale * float(word) for word in cell.split())
    return Band(least, usual, most, unit, _TABLE)


_SAID = {
    "load_from_volts": "the voltage from which its load draws",
    "fuse": "fuse resistance",
    "resettable_fuse": "resettable fuse resistance",
    "inductor": "winding resistance",
    "ferrite_bead": "ferrite bead resistance",
}
"""Keys that do not say by themselves what was taken."""


class Figures:
    """The figures that the papers rarely state: the shipped tables with a board's own rows laid over them."""

    def __init__(self, own: tables.OwnTables) -> None:
        self._defaults = {row["key"]: row for row in tables.rows_with("circuit_defaults", own)}
        self._drops = {row["key"]: row for row in tables.rows_with("forward_drops", own)}
        self.pinouts = tables.rows_with("diode_pinouts", own)

    def default(self, key: str) -> Band:
        """Return a row of `circuit_defaults.csv` as a band; an empty end is open."""
        row = self._defaults[key]
        low, nominal, high = (_number("circuit_defaults", row, name) for name in ("low", "nominal", "high"))
        if low is None and high is None:
            low = high = nominal
        return Band(low, nominal, high, row["unit"], _TABLE)

    def figure(self, key: str) -> float:
        """Return the nominal value of a row of `circuit_defaults.csv`."""
        nominal = self.default(key).nominal
        if nominal is None:
            raise ReworkkitError("table-not-a-number", table="circuit_defaults", column="nominal", written=key)
        return nominal

    def assumed(self, key: str, ref: str) -> Message:
        """Return the message that a default was used, with the line that would replace it."""
        return message("circuit-default", ref=ref, what=_SAID.get(key, key.replace("_", " ")), band=self.default(key))

    def of_value(self, part: Part, unit: str, percent_key: str) -> Band | None:
        """Return the main value of a part with its tolerance, stated or usual; None where the list has none."""
        value = part.identity.value
        if value.main is None or value.main.unit != unit:
            return None
        main = float(value.main.value)
        return around(main, self._percent(value.tolerance, main, percent_key), unit)

    def _percent(self, tolerance: Quantity | None, main: float, key: str) -> float:
        if tolerance is None:
            return self.figure(key)
        if tolerance.unit == "%":
            return float(tolerance.value)
        return 100 * float(tolerance.value) / main if main else 0.0

    def drop(self, key: str) -> dict[str, Band]:
        """Return the junction parameters of a row of `forward_drops.csv`."""
        row = self._drops[key]
        names = ("low_v", "nominal_v", "high_v", "at_a", "ideality", "series_ohm")
        low, nominal, high, at, ideality, series = (_number("forward_drops", row, name) or 0.0 for name in names)
        return {
            "forward": Band(low, nominal, high, "V", _TABLE),
            "at": exact(at, "A"),
            "ideality": exact(ideality, "1"),
            "series": exact(series, "ohm"),
        }


def _number(table: str, row: tables.Row, column: str) -> float | None:
    """Return a cell as a number, None where it is empty; ReworkkitError where it is no number."""
    try:
        return float(row[column]) if row[column] else None
    except ValueError as error:
        raise ReworkkitError("table-not-a-number", table=table, column=column, written=row[column]) from error


@cache
def _shipped() -> Figures:
    return Figures({})


def drop(key: str) -> dict[str, Band]:
    """Return the junction parameters of a row of the shipped `forward_drops.csv`."""
    return _shipped().drop(key)


def stated(value: Quantity | None, percent: float) -> Band | None:
    """Return a quantity of board.toml as a band of that percentage, or None."""
    return None if value is None else around(float(value.value), percent, value.unit)


@cache
def _colours() -> tuple[tuple[re.Pattern[str], str], ...]:
    """Return a pattern for each word of a colour, the longest first; a word that ends in * matches any ending."""
    found = [(word, row["key"]) for row in tables.rows("forward_drops") for word in row["words"].split("|") if word]
    found.sort(key=lambda pair: -len(pair[0].rstrip("*")))
    return tuple((_as_pattern(word.casefold()), key) for word, key in found)


def _as_pattern(word: str) -> re.Pattern[str]:
    free = not word[:1].isascii()
    end = "" if word.endswith("*") or (free and len(word) == 1) else r"(?![^\W\d_])"
    start = "" if free and len(word) == 1 else r"(?<![^\W\d_])"
    return re.compile(f"{start}{re.escape(word.rstrip('*'))}{end}")


_TRUE_GREEN = re.compile(r"ingan|true|pure|emerald|3[.,][0-4]\s?v")
_YELLOW_GREEN = re.compile(r"(?<![a-z])(?:gap|al(?:in)?gain?p|2[.,][0-3]\s?v)(?![a-z])")


def led_key(text: str) -> str:
    """Return the row of `forward_drops.csv` for an LED whose text names a colour.

    >>> led_key("LED grün 0805"), led_key("LED"), led_key("infrared emitter"), led_key("green (InGaN)")
    ('led_green', 'led_unknown', 'led_infrared', 'led_green_ingan')
    >>> led_key("светодиод красный"), led_key("yellow-green"), led_key("warmweiß")
    ('led_red', 'led_green_gap', 'led_white')
    """
    return next(iter(led_keys(text)), "led_unknown")


def led_keys(text: str) -> tuple[str, ...]:
    """Return the rows for all colours that a text names, in its order.

    >>> led_keys("red/green, common cathode"), led_keys("RGB"), led_keys("yellow-green/rot")
    (('led_red', 'led_green'), ('led_red', 'led_green_ingan', 'led_blue'), ('led_green_gap', 'led_red'))
    """
    words = text.casefold()
    if re.search(r"(?<![a-z])rgbw?(?![a-z])", words):
        return "led_red", "led_green_ingan", "led_blue"
    places: dict[int, str] = {}
    taken: set[int] = set()
    for pattern, key in _colours():
        for m in pattern.finditer(words):
            if not taken & set(range(*m.span())):
                places[m.start()] = key
                taken |= set(range(*m.span()))
    found = dict.fromkeys(_narrowed(places[n], words) for n in sorted(places))
    return tuple(found)


def _narrowed(key: str, words: str) -> str:
    """Return which green it is where the text tells: of 2.1 V or of 3.1 V."""
    if key != "led_green":
        return key
    if _TRUE_GREEN.search(words):
        return "led_green_ingan"
    return "led_green_gap" if _YELLOW_GREEN.search(words) else key


@cache
def led_key_of_number(number: str) -> str | None:
    """Return the row for an LED by its type number, or None.

    >>> led_key_of_number("LTST-C170KGKT"), led_key_of_number("APT1608SURCK"), led_key_of_number("0805")
    ('led_green_gap', 'led_red', None)
    """
    written = number.strip().upper()
    return next((row["key"] for row in tables.rows("led_numbers") if re.match(row["pattern"], written)), None)


@cache
def diode_key(number: str, words: str) -> str | None:
    """Return the row of `forward_drops.csv` for a diode by its type number, else by words of the list, or None.

    >>> [diode_key(n, "") for n in ("1N4148W", "SS34", "UF4007", "M7", "MBR20100CT")]
    ['silicon_small', 'schottky_power', 'silicon_fast', 'silicon_rectifier', 'schottky_high']
    >>> diode_key("", "diode, Schottky 3 A"), diode_key("", "fast recovery rectifier"), diode_key("", "diode")
    ('schottky_power', 'silicon_rectifier', None)
    """
    written, said = number.strip().upper(), words.casefold()
    rows = tables.rows("diode_families")
    if found := next((row["key"] for row in rows if re.match(row["pattern"], written)), None):
        return found
    for row in rows:
        if any(re.search(rf"(?<![a-z]){re.escape(word)}(?![a-z])", said) for word in row["words"].split("|") if word):
            return row["key"]
    return None
