"""Parts: a row of the list, what a row's text means, and one part per designator."""

import re
from dataclasses import dataclass
from typing import NamedTuple

from reworkkit.model.messages import Message
from reworkkit.model.values import Quantity, Source, Where
from reworkkit.model.vocabulary import Fit, Mount, YesNo

_NUMBER_WORD = re.compile(r"(?<![\w.])(?=[\w.+/-]{4})\w[\w.+/-]*\d[\w.+/-]*")
"""A word that may be a type number: four characters or more, a figure among them."""
_OUTLINE = re.compile(
    r"(?<![A-Z])(?:TO|SOT|SOD|SOP?|SOIC|T?SSOP|[MV]S+OP|HSOP|P?DIP|DIL|SI[PL]|ZIP|[QD]FN|QFP|W?SON|LGA|BGA|SC|DO|MO)"
    r"[-_ ]?\d|D2?D?PAK|modul",
    re.IGNORECASE,
)
"""What a package's name looks like, of one that is not known as well."""
_MICRO = str.maketrans("\u00b5\u03bc", "uu")
"""Old type numbers begin with a micro sign, written as the sign, the Greek letter or a plain u."""


class PartLine(NamedTuple):
    """One row of the parts list, as written; `refs` is the designator cell expanded, `refs_text` the cell itself."""

    refs: tuple[str, ...]
    refs_text: str
    value_text: str
    package_text: str
    description: str
    part_number: str
    quantity: int | None
    fit: Fit
    alternative_of: int | None
    """Line number of the row this one is an alternative for, or None."""
    extra: tuple[tuple[str, str], ...]
    where: Where


@dataclass(frozen=True, slots=True)
class PartValue:
    """A value cell taken apart: `2u2 10 % 25V X7R` has a main quantity, a tolerance, a voltage and a dielectric.

    For a fuse the class (`T`, `F`, `FF`) stands in the place of the dielectric.
    """

    main: Quantity | None
    tolerance: Quantity | None
    volts: Quantity | None
    watts: Quantity | None
    dielectric: str | None
    text: str


@dataclass(frozen=True, slots=True)
class Package:
    """A package outline: body, pins, pitch, tab, mass and the convention of its polarity mark."""

    name: str
    written: str
    mount: Mount
    length_mm: float
    width_mm: float
    height_mm: float
    pins: int
    pitch_mm: float | None
    tab: tuple[float, float, float] | None
    """Device tab as length, width, thickness in millimetres."""
    hidden_pads: int
    lead_mm2: float | None
    lead_material: str | None
    mass_g: float | None
    mark: str
    source: Source


@dataclass(frozen=True, slots=True)
class PartIdentity:
    """What a row's text means, judged once for each distinct text and shared by its designators."""

    kind: str
    """Key of a row of `tables/part_kinds.csv`, or `unknown`."""
    value: PartValue
    package: Package | None
    package_text: str
    part_number: str
    description: str
    polarised: YesNo
    key: str
    """What makes two parts the same: 33p and 33 pF of one size share it."""
    assumed: tuple[Message, ...] = ()

    @property
    def outline(self) -> str:
        """The name of the package outline, as written where no name is known."""
        return self.package.name if self.package else self.package_text

    @property
    def named_outline(self) -> str:
        """The outline where the list names one; empty where its text is only a library, a mounting or a remark."""
        return self.outline if self.package or _OUTLINE.search(self.package_text) else ""

    @property
    def type_numbers(self) -> tuple[str, ...]:
        """What may be the type number, best first: part number, value, then each word with a figure of all texts."""
        words = _NUMBER_WORD.findall(f"{self.value.text} {self.part_number} {self.description}")
        found = (self.part_number.strip(), self.value.text.strip(), *words)
        return tuple(dict.fromkeys(text.translate(_MICRO) for text in found if text))


class Note(NamedTuple):
    """A note about how a part faces; source is one of `list`, `board_toml`, `fitted`, `job`."""

    source: str
    text: str
    where: Where


class Part(NamedTuple):
    """One place of the design."""

    ref: str
    identity: PartIdentity
    fit: Fit
    notes: tuple[Note, ...]
    where: Where


class StockLine(NamedTuple):
    """One row of what lies in the drawers; `pieces` is None where no number was written."""

    part_number: str
    value_text: str
    package_text: str
    description: str
    pieces: int | None
    location: str
    note: str
    where: Where
