"""Package against the class of the part, and against the pins the netlist gives it."""

import re
from collections.abc import Iterable

from reworkkit.compute.list_audit.common import class_letters, folded, over
from reworkkit.model.board import Board
from reworkkit.model.messages import Finding, message
from reworkkit.model.part import Part
from reworkkit.model.vocabulary import Fit, Mount, Severity

_FAMILY = re.compile(r"(CAPC|RESC|INDC|[RCL](?=[_ -]?\d{4}))", re.IGNORECASE)
_FAMILY_CLASS = {"CAPC": "C", "RESC": "R", "INDC": "L"}
_ARRAYS = ("array", "network", "potentiometer", "trimmer", "variable", "shunt", "thermistor", "filter")
_THREE_LEADS_OR_MORE = frozenset(
    {
        "ic",
        "opamp",
        "microcontroller",
        "linear_regulator",
        "switching_regulator",
        "transistor",
        "transistor_bipolar",
        "mosfet",
        "igbt",
    }
)
_SPARE_PINS = 2


def audit_packages(board: Board) -> list[Finding]:
    """Return the findings about packages that cannot be right for their part."""
    parts = [part for part in board.parts.values() if part.fit is not Fit.NOT_A_PART]
    return [*_too_many_pins(parts), *_against_copper(parts, board), *_family(parts)]


def _too_many_pins(parts: Iterable[Part]) -> Iterable[Finding]:
    """A plain resistor or capacitor in a package of many leads, an IC or transistor in a chip of two terminals."""
    wrong = [part for part in parts if _impossible(part)]
    if wrong:
        text = folded([(part.ref, f"{_what(part)} / {part.identity.package_text}") for part in wrong])
        said = message("package-against-kind", parts=text, count=len(wrong))
        yield over(said, Severity.CHECK, [part.ref for part in wrong], parts=wrong)


def _impossible(part: Part) -> bool:
    package, kind = part.identity.package, part.identity.kind
    if package is None or package.mount is not Mount.SMD or any(word in kind for word in _ARRAYS):
        return False
    if kind in _THREE_LEADS_OR_MORE:
        return package.pins == 2 and "chip" in package.name
    main = part.identity.value.main
    plain = class_letters(part.ref) in ("R", "C") and main is not None and main.unit in ("ohm", "F")
    return plain and package.pins > 4


def _what(part: Part) -> str:
    return " ".join(part.identity.value.text.split()) or part.identity.part_number or part.identity.kind


def _against_copper(parts: Iterable[Part], board: Board) -> Iterable[Finding]:
    """More or fewer lands on the board than the package has leads: list and board are of different revisions."""
    lands: dict[str, set[str]] = {}
    for ref, number in board.pins:
        if number:
            lands.setdefault(ref, set()).add(number)
    wrong = [(part, text) for part in parts if (text := _unlike_lands(part, len(lands.get(part.ref, ()))))]
    if wrong:
        said = message("package-against-netlist", parts=folded([(p.ref, text) for p, text in wrong]), count=len(wrong))
        yield over(said, Severity.CHECK, [part.ref for part, _ in wrong], parts=[part for part, _ in wrong])


def _unlike_lands(part: Part, lands: int) -> str:
    """Return package, leads and lands as text where leads and lands cannot belong together, else nothing."""
    package = part.identity.package
    if package is None or not lands or package.mount is not Mount.SMD:
        return ""
    if abs(package.pins - lands) <= _slack(package.pins) or "kelvin" in part.identity.package_text.casefold():
        return ""  # Kelvin lands give each terminal a second land for sensing
    return f"{part.identity.package_text}: {package.pins} / {lands}"


def _slack(pins: int) -> int:
    """Exposed pads, tabs joined to a lead and pegs make small differences; two-terminal chips have none."""
    return 0 if pins == 2 else max(_SPARE_PINS, pins // 4)


def _family(parts: Iterable[Part]) -> Iterable[Finding]:
    """A resistor on a land named for a capacitor: it fits, yet one of the two columns may be wrong."""
    odd = [part for part in parts if _other_family(part)]
    if odd:
        text = folded([(part.ref, f"{_what(part)} / {part.identity.package_text}") for part in odd])
        said = message("package-of-other-class", parts=text, count=len(odd))
        yield over(said, Severity.NOTE, [part.ref for part in odd], parts=odd)


def _other_family(part: Part) -> bool:
    match = _FAMILY.match(part.identity.package_text.rpartition(":")[2].strip())
    letters = class_letters(part.ref)
    if match is None or letters not in ("R", "C"):
        return False
    family = match[1].upper()
    return _FAMILY_CLASS.get(family, family) != letters
