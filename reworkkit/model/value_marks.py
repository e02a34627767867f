"""What is printed on the part itself: number codes, EIA-96, EIA-198, colour rings, tantalum voltage letters.

Ohms and farads are `Decimal` in SI. Codes: IEC 60062 (colours, R as the point), EIA-96 and EIA-198 (multiplier letters
from memory), the number codes common practice.
"""

import re
from decimal import Decimal

from reworkkit.model.part import Part, PartValue
from reworkkit.model.part_value import SERIES, in_series

_PICO = Decimal("1E-12")
_E96_LETTERS = {
    "Z": "0.001",
    "Y": "0.01",
    "R": "0.01",
    "X": "0.1",
    "S": "0.1",
    "A": "1",
    "B": "10",
    "H": "10",
    "C": "100",
    "D": "1000",
    "E": "10000",
    "F": "100000",
}
_E96_WRITES = {v: k for k, v in reversed(_E96_LETTERS.items())}
_EIA198 = dict(
    zip(
        "ABCDEFGHJKLMNPQRSTUVWXYZ",
        [
            "1.0",
            "1.1",
            "1.2",
            "1.3",
            "1.5",
            "1.6",
            "1.8",
            "2.0",
            "2.2",
            "2.4",
            "2.7",
            "3.0",
            "3.3",
            "3.6",
            "3.9",
            "4.3",
            "4.7",
            "5.1",
            "5.6",
            "6.2",
            "6.8",
            "7.5",
            "8.2",
            "9.1",
        ],
        strict=True,
    )
)
COLOURS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
"""The ten digit colours of IEC 60062 Table I, 0 to 9."""
_MULTIPLIER = {-3: "pink", -2: "silver", -1: "gold"} | dict(enumerate(COLOURS))
_TOLERANCE = {
    "20": "",
    "10": "silver",
    "5": "gold",
    "1": "brown",
    "2": "red",
    "0.05": "orange",
    "0.02": "yellow",
    "0.5": "green",
    "0.25": "blue",
    "0.1": "violet",
    "0.01": "grey",
}
_TANTALUM_VOLTS = {
    "e": "2.5",
    "G": "4",
    "J": "6.3",
    "A": "10",
    "C": "16",
    "D": "20",
    "E": "25",
    "V": "35",
    "T": "50",
}
_CHIP = re.compile(r"(?:R chip|C chip|MLCC) ([0-9]{4,5})")
_NEVER_PRINTED = ("01005", "0201", "0402")


def _digits(value: Decimal, count: int) -> tuple[str, int] | None:
    """Return the first `count` digits of a value and the power of ten behind them; None where digits would be lost."""
    power = value.adjusted() - count + 1
    head = value.scaleb(-power)
    return (str(int(head)), power) if head == head.to_integral_value() else None


def resistor_number(ohms: Decimal, figures: int = 2) -> str | None:
    """Return the number printed on a chip resistor: 2 (or 3) figures and a power, or R as the point; None if neither.

    >>> resistor_number(Decimal(4700)), resistor_number(Decimal("4.7")), resistor_number(Decimal(49900), 3)
    ('472', '4R7', '4992')
    """
    if ohms == 0:
        return "0" * (figures + 1)
    found = _digits(ohms, figures) if ohms > 0 else None
    if found is None:
        return None
    head, power = found
    return f"{head}{power}" if 0 <= power <= 9 else _with_point(head, power, figures) if power < 0 else None


def _with_point(head: str, power: int, figures: int) -> str | None:
    places = -power
    if places > figures:
        return None
    return f"{head[: figures - places]}R{head[figures - places :]}"


def read_resistor_mark(mark: str) -> tuple[Decimal, ...]:
    """Return every resistance a chip resistor's mark can mean, in ohm; empty where it is no such mark.

    >>> read_resistor_mark("472"), read_resistor_mark("01C"), read_resistor_mark("R100")
    ((Decimal('4700'),), (Decimal('10000'),), (Decimal('0.100'),))
    """
    if re.fullmatch("0|000|0000", mark):
        return (Decimal(0),)
    if re.fullmatch("[0-9]{3,4}", mark):
        return (_shift(mark[:-1], int(mark[-1])),)
    if re.fullmatch("[0-9]{0,3}R[0-9]{1,3}|[0-9]{1,3}R", mark) and mark[:2] != "0R":
        plain = Decimal(mark.replace("R", ".") if mark[-1] != "R" else mark[:-1])
        coded = eia96_ohms(mark) if len(mark) == 3 and mark.endswith("R") else None
        return (plain,) if coded is None or coded == plain else (plain, coded)
    coded = eia96_ohms(mark)
    return () if coded is None else (coded,)


def _shift(head: str, power: int) -> Decimal:
    return Decimal(int(head) * 10**power)


def eia96_ohms(mark: str) -> Decimal | None:
    """Decode an EIA-96 mark: two digits for the member of E96, a letter for the multiplier.

    >>> eia96_ohms("68C"), eia96_ohms("97A")
    (Decimal('49900'), None)
    """
    if not re.fullmatch("[0-9]{2}[ABCDEFHRSXYZ]", mark) or not 1 <= int(mark[:2]) <= 96:
        return None
    scaled = SERIES["E96"][int(mark[:2]) - 1] * Decimal(_E96_LETTERS[mark[2]])
    return scaled.quantize(Decimal(1)) if scaled == scaled.to_integral_value() else scaled.normalize()


def eia96_mark(ohms: Decimal) -> str | None:
    """Encode a resistance as EIA-96; None where it is no member of E96 or out of the letters' reach.

    >>> eia96_mark(Decimal(49900)), eia96_mark(Decimal(4700))
    ('68C', None)
    """
    found = _digits(ohms, 3) if ohms > 0 else None
    if found is None or int(found[0]) not in SERIES["E96"] or not -3 <= found[1] <= 5:
        return None
    letter = _E96_WRITES[f"{Decimal(1).scaleb(found[1]):f}"]
    return f"{SERIES['E96'].index(int(found[0])) + 1:02d}{letter}"


def capacitor_code(farads: Decimal) -> str | None:
    """Return the three-figure code in picofarad (`104` is 100 nF); below 10 pF with R as the point.

    >>> capacitor_code(Decimal("1E-7")), capacitor_code(Decimal("4.7E-12"))
    ('104', '4R7')
    """
    found = _digits(farads / _PICO, 2) if farads > 0 else None
    if found is None:
        return None
    head, power = found
    return f"{head}{power}" if 0 <= power <= 7 else _with_point(head, power, 2) if power < 0 else None


def read_capacitor_code(code: str) -> Decimal | None:
    """Decode `104`, `4R7`, or `229` (a last 9 is a factor 0.1, a last 8 0.01); farad.

    >>> read_capacitor_code("475"), read_capacitor_code("229")
    (Decimal('0.0000047'), Decimal('2.2E-12'))
    """
    if re.fullmatch("[0-9]?R[0-9]{1,2}|[0-9]{1,2}R", code):
        return (Decimal(code.replace("R", ".")) * _PICO).normalize()
    if not re.fullmatch("[1-9][0-9]{2}", code):
        return None
    power = {"9": -1, "8": -2}.get(code[2], int(code[2]))
    return (Decimal(code[:2]).scaleb(power) * _PICO).normalize()


def eia198_mark(farads: Decimal) -> str | None:
    """Return the letter and figure of EIA-198 that may stand on a chip capacitor: S3 is 4.7 nF.

    >>> eia198_mark(Decimal("4.7E-9"))
    'S3'
    """
    picofarads = farads / _PICO
    if picofarads < 1:
        return None
    power = picofarads.adjusted()
    letters = {Decimal(v): k for k, v in _EIA198.items()}
    letter = letters.get(picofarads.scaleb(-power))
    return f"{letter}{power}" if letter and power <= 9 else None


def read_eia198_mark(mark: str) -> Decimal | None:
    """Decode a letter and a figure of EIA-198; farad. A last 9 is a factor of 0.1.

    >>> read_eia198_mark("S3")
    Decimal('4.7E-9')
    """
    if not re.fullmatch("[A-HJ-NP-Z][0-9]", mark):
        return None
    power = -1 if mark[1] == "9" else int(mark[1])
    return (Decimal(_EIA198[mark[0]]).scaleb(power) * _PICO).normalize()


def colour_rings(ohms: Decimal, tolerance_percent: Decimal | None = None) -> tuple[str, ...] | None:
    """Return the rings of a leaded resistor: four, or five where the value needs three figures or 2 % and better.

    Without a tolerance the tolerance ring is left out; None where no rings can say the value.

    >>> colour_rings(Decimal(4700), Decimal(5)), colour_rings(Decimal(4700), Decimal(1))
    (('yellow', 'violet', 'red', 'gold'), ('yellow', 'violet', 'black', 'brown', 'brown'))
    """
    if ohms == 0:
        return ("black",)
    fine = tolerance_percent is not None and tolerance_percent <= 2
    found = _digits(ohms, 3) if fine or _digits(ohms, 2) is None else _digits(ohms, 2)
    if found is None or found[1] not in _MULTIPLIER:
        return None
    rings = (*(COLOURS[int(digit)] for digit in found[0]), _MULTIPLIER[found[1]])
    last = "" if tolerance_percent is None else _TOLERANCE.get(f"{tolerance_percent.normalize():f}")
    return None if last is None else (*rings, last) if last else rings


def read_colour_rings(rings: tuple[str, ...]) -> tuple[Decimal, Decimal | None] | None:
    """Decode rings into ohm and tolerance in percent (None where no ring says it); None where they say nothing.

    Three rings have 20 %; four have two figures, five three.

    >>> read_colour_rings(("brown", "black", "orange", "gold"))
    (Decimal('1.0E+4'), Decimal('5'))
    """
    if rings == ("black",):
        return Decimal(0), None
    if len(rings) not in (3, 4, 5):
        return None
    figures = 3 if len(rings) == 5 else 2
    powers = {colour: power for power, colour in _MULTIPLIER.items()}
    tolerances = {colour: percent for percent, colour in _TOLERANCE.items()}
    last = rings[figures + 1] if len(rings) > 3 else ""
    if rings[figures] not in powers or last not in tolerances or not set(rings[:figures]) <= set(COLOURS):
        return None
    head = "".join(str(COLOURS.index(colour)) for colour in rings[:figures])
    return Decimal(int(head)).scaleb(powers[rings[figures]]), Decimal(tolerances[last])


def tantalum_voltage_letter(volts: Decimal) -> str | None:
    """Return the letter that stands for the rated voltage of a moulded tantalum (from memory).

    >>> tantalum_voltage_letter(Decimal(16)), tantalum_voltage_letter(Decimal(12))
    ('C', None)
    """
    return {Decimal(v): k for k, v in _TANTALUM_VOLTS.items()}.get(volts)


def printed_marks(kind: str, value: PartValue, package_name: str = "") -> tuple[str, ...]:
    """Return the marks to look for on a part: most likely first, empty where nothing is printed or the value unknown.

    `package_name` is the name of a row of `packages.csv`; chips of 0402 and smaller carry no mark.
    """
    if value.main is None or value.main.unit not in ("ohm", "F"):
        return ()
    amount, chip = value.main.value, _CHIP.match(package_name)
    if chip and chip[1] in _NEVER_PRINTED:
        return ()
    if kind == "resistor":
        return _resistor_marks(amount, value, package_name, chip[1] if chip else "")
    if kind in ("capacitor_ceramic", "capacitor_film", "capacitor_safety"):
        marks: tuple[str | None, ...] = (eia198_mark(amount),) if chip else (capacitor_code(amount),)
    elif kind.startswith("capacitor_tantalum") or kind == "capacitor_polymer_tantalum":
        code = capacitor_code(amount)
        letter = tantalum_voltage_letter(value.volts.value) if value.volts else None
        marks = (code, f"{letter}{code}" if letter and code else None)
    elif kind in ("capacitor_aluminium_electrolytic", "capacitor_polymer_aluminium"):
        marks = (f"{(amount * 10**6).normalize():f}",)
    else:
        marks = ()
    return tuple(mark for mark in marks if mark)


def is_chip(part: Part) -> bool:
    """Tell whether a part is a chip named by its size, such as 0603."""
    return bool(part.identity.package and _CHIP.match(part.identity.package.name))


def _resistor_marks(ohms: Decimal, value: PartValue, package_name: str, size: str) -> tuple[str, ...]:
    percent = value.tolerance.value if value.tolerance and value.tolerance.unit == "%" else None
    if package_name.startswith(("R axial", "MELF", "MiniMELF", "MicroMELF")):
        rings = colour_rings(ohms, percent)
        return (" ".join(rings),) if rings else ()
    fine = percent is not None and percent <= 1
    coded = eia96_mark(ohms) if size == "0603" and in_series(ohms, "E96") else None
    short, long = resistor_number(ohms), resistor_number(ohms, 3)
    marks = (long, coded, short) if fine else (short, coded, long)
    return tuple(dict.fromkeys(mark for mark in marks if mark))


def part_marks(part: Part) -> tuple[str, ...]:
    """Return the marks to look for on a part, from its kind, value and package."""
    identity = part.identity
    return printed_marks(identity.kind, identity.value, identity.package.name if identity.package else "")
