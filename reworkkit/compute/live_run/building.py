"""What every step of the live run is built with: the facts as numbers, the limits of the table, one step at a time."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from reworkkit.model.facts import LiveFacts
from reworkkit.model.live import LiveFigure, LiveStep, LiveTable
from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.quantity import format_engineering, format_quantity
from reworkkit.model.results import Alert
from reworkkit.model.values import Quantity
from reworkkit.model.vocabulary import AlertLevel
from reworkkit.tables import rows

BLANK = "____"
UNITS = {
    "volts": "V",
    "capacitance": "mF",
    "watts": "W",
    "precharge": "ohm",
    "bleeder": "kohm",
    "source_amps": "A",
    "fuse": "A",
    "fuse_volts": "V",
    "fuse_breaks": "A",
    "current_limit": "A",
    "lamp": "W",
    "lamp_volts": "V",
    "start_volts": "V",
    "precharge_power": "W",
    "precharge_pulse": "J",
    "precharge_volts": "V",
    "contactor_volts": "V",
    "makes": "A",
    "breaks": "A",
    "loop": "ohm",
    "bleeder_power": "W",
    "bleeder_volts": "V",
    "discharge": "kohm",
    "discharge_volts": "V",
    "bus_limit": "V",
    "abort_volts": "V",
    "abort_amps": "A",
    "abort_celsius": "°C",
    "insulation_volts": "V",
    "insulation": "Mohm",
}
"""The unit in the line that answers a missing key; its number is a blank, so that nobody copies a rating."""
EXAMPLES = {"load": "resistive, transformer, converter or motor", "isolated": "false"}
"""Keys that take a word: what may stand there, or the careful one."""
_BARE = frozenset({"isolated"})


@cache
def limit(key: str) -> float:
    """Return a limit of `tables/live_limits.csv` in its unit; percentages as shares of one."""
    row = next(row for row in rows("live_limits") if row["key"] == key)
    return float(row["value"]) / 100 if row["unit"] == "%" else float(row["value"])


def text(value: float | None, unit: str) -> str:
    """Return a computed figure as text of three digits, or a blank where it is not known."""
    return f"{BLANK} {unit}" if value is None else format_engineering(value, unit)


def time_text(seconds: float | None) -> str:
    """Return a time as a person reads it off a watch.

    >>> time_text(0.0428), time_text(95.2), time_text(346.0), time_text(None)
    ('42.8 ms', '95.2 s', '5 min 46 s', '____ s')
    """
    if seconds is None or seconds < 120:
        return text(seconds, "s")
    whole = round(seconds)
    return f"{whole // 60} min {whole % 60} s"


class Given:
    """The facts of [live] as plain numbers; a key that was not written is None."""

    def __init__(self, live: LiveFacts, limit_a: float | None = None) -> None:
        self.live = live
        self.limit_a = self.number("current_limit") or limit_a

    def number(self, key: str) -> float | None:
        """Return a quantity as a float in its unit, or None."""
        written = getattr(self.live, key)
        return float(written.value) if isinstance(written, Quantity) else None

    def written(self, key: str, unit: str = "") -> str:
        """Return what the person wrote in its shortest form, or a blank with the unit."""
        value = getattr(self.live, key)
        if isinstance(value, Quantity):
            return format_quantity(value)
        return str(value) if value else f"{BLANK} {unit}".strip()

    def numbers(self, *keys: str) -> tuple[float, ...] | None:
        """Return several quantities, or None where one is missing."""
        found = [self.number(key) for key in keys]
        values = tuple(value for value in found if value is not None)
        return values if len(values) == len(keys) else None

    @property
    def energy_j(self) -> float | None:
        """Return the energy of the charged bus."""
        known = self.numbers("capacitance", "volts")
        return known[0] * known[1] ** 2 / 2 if known else None

    @property
    def load_ohm(self) -> float | None:
        """Return the resistance of a resistive load at the bus voltage."""
        known = self.numbers("volts", "watts")
        return known[0] ** 2 / known[1] if known and self.live.load == "resistive" and known[1] > 0 else None


@dataclass
class Builder:
    """Collects one step; `done` hands it out as a record."""

    key: str
    title: Message
    given: Given

    def __post_init__(self) -> None:
        self.alerts: list[Alert] = []
        self.figures: list[LiveFigure] = []
        self.todo: list[Message] = []
        self.blanks: list[Message] = []
        self.stops: list[Message] = []
        self.questions: list[NotJudged] = []
        self.table: LiveTable | None = None

    def warn(self, *texts: Message) -> None:
        """Add WARNINGs: someone can be hurt."""
        self.alerts += [(AlertLevel.WARNING, one) for one in texts]

    def caution(self, *texts: Message) -> None:
        """Add CAUTIONs: the board can be damaged."""
        self.alerts += [(AlertLevel.CAUTION, one) for one in texts]

    def figure(self, key: str, value: float, unit: str, words: Message, needs: Iterable[str]) -> None:
        """Add a figure with its sentence and the keys of [live] it hangs on."""
        self.figures.append(LiveFigure(key, value, unit, words, tuple(needs)))

    def asks(self, question: Message, *keys: str) -> bool:
        """Return whether a key is missing; each one that is becomes a question with the line that answers it."""
        missing = [key for key in keys if getattr(self.given.live, key) is None]
        for key in missing:
            because = message("live-key-missing", key=key)
            self.questions.append(NotJudged((key,), question, because, answer_line(key)))
        return bool(missing)

    def rated(self, what: Message, key: str, needed: float | None, unit: str) -> None:
        """Stop where a rating is under what is needed; ask where the rating was not written."""
        if self.asks(message("live-question-rating"), key) or needed is None:
            return
        rating = self.given.number(key)
        if rating is not None and rating < needed:
            self.stops.append(what)

    def done(self) -> LiveStep:
        """Return the step."""
        return LiveStep(
            self.key,
            self.title,
            tuple(self.alerts),
            tuple(self.figures),
            tuple(self.todo),
            tuple(self.blanks),
            tuple(dict.fromkeys(self.stops)),
            self.table,
            tuple(self.questions),
        )


def answer_line(key: str) -> str:
    """Return the line of board.toml that answers a missing key.

    >>> answer_line("loop"), answer_line("isolated")
    ('[live] loop = "____ ohm"', '[live] isolated = false')
    """
    example = EXAMPLES.get(key) or f"{BLANK} {UNITS.get(key, '')}".strip()
    return f"[live] {key} = {example}" if key in _BARE else f'[live] {key} = "{example}"'
