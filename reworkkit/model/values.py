"""Values with their unit, bands, places in files, and where a figure comes from."""

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from reworkkit.model.vocabulary import BandBasis, Honesty

if TYPE_CHECKING:
    from reworkkit.model.messages import Message


@dataclass(frozen=True, slots=True)
class Quantity:
    """What a person wrote as a value: exact, with its unit and the text it was read from.

    `value` is in the base unit named by `unit` (`4k7` is `Decimal(4700)` with unit `ohm`), except for lengths
    (`mm`) and temperatures (`C`), which the trade writes so.
    """

    value: Decimal
    unit: str
    text: str

    def si(self) -> float:
        """Return the value as a float in SI units: metre for mm, kelvin-compatible degree for C, else unchanged.

        >>> Quantity(Decimal("1.6"), "mm", "1.6 mm").si()
        0.0016
        """
        scale = {"mm": Decimal("0.001"), "mm2": Decimal("0.000001")}.get(self.unit, Decimal(1))
        return float(self.value * scale)


@dataclass(frozen=True, slots=True)
class Band:
    """A range with a nominal value; `None` is an open end. All three are in `unit`."""

    low: float | None
    nominal: float | None
    high: float | None
    unit: str
    basis: BandBasis
    assumed: "tuple[Message, ...]" = ()


class Where(NamedTuple):
    """A place in a file of the board folder; line 0 means the whole file."""

    file: str
    line: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}" if self.line else self.file


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure comes from: a row of `tables/sources.toml`, the place in it, and how far to trust it."""

    key: str
    place: str
    honesty: Honesty
