"""Packages read out of a name that gives family and size: IPC-7351 land patterns and layout-program strings.

Only size codes that are open standards or plain measurements in millimetres are read; brand series are not.
"""

import re
from collections.abc import Callable
from functools import cache
from typing import NamedTuple

from reworkkit import tables
from reworkkit.model.part import Package
from reworkkit.model.values import Source
from reworkkit.model.vocabulary import Honesty, Mount


class Shape(NamedTuple):
    """What a name says: a family of `package_families.csv`, body, pins and pitch; height None where it says none."""

    family: str
    pins: int
    length_mm: float
    width_mm: float
    height_mm: float | None
    pitch_mm: float | None
    hidden: int = 0
    smd: bool | None = None


_N = r"([0-9]+(?:\.[0-9]+)?)"
_IC = re.compile(
    rf"(?:^|_)([A-Z]{{2,7}}(?:-I{{1,2}})?)-?([0-9]{{1,3}})(-[1-9]EP)?[_-]{_N}x{_N}mm(?:_?P(?:itch)?{_N}mm)?",
    re.IGNORECASE,
)
_BGA = re.compile(rf"(?:^|_)([A-Z]*BGA)-([0-9]+)_(?:{_N}x{_N}mm|.*Body{_N}x{_N})(?:.*P{_N}mm)?", re.IGNORECASE)
_EASY = re.compile(rf"(?:^|_)L{_N}-W{_N}(?:-P{_N})?")
_RADIAL = re.compile(rf"CP?_Radial_D{_N}mm(?:_H{_N}mm)?_P{_N}mm", re.IGNORECASE)
_CAN = re.compile(rf"(?:CP?_Elec|Can|CP_SMD)_{_N}x{_N}", re.IGNORECASE)
_AXIAL = re.compile(rf"(CP?|R|D|L)_Axial.*?_L{_N}mm_D{_N}mm", re.IGNORECASE)
_RECT = re.compile(rf"C_(?:Rect|Disc)_[LD]{_N}mm_W{_N}mm_P{_N}mm", re.IGNORECASE)
_MOULDED = re.compile(r"EIA-([0-9]{2})([0-9]{2})-([0-9]{2})", re.IGNORECASE)
_ROUND_LED = re.compile(rf"LED_D{_N}mm", re.IGNORECASE)
_GRID = re.compile(
    r"(?:^|[_ -])(?P<rows>[12])x(?P<columns>[0-9]{1,2})(?:-[0-9]MP)?"
    r"(?:[x_ -]*P?(?P<pitch>[0-9]\.[0-9]+)(?:mm)?)?(?![0-9.x])",
    re.IGNORECASE,
)
_TERMINAL_WAYS = re.compile(rf"(?:screw )?terminal {_N} ?(?:mm)? ([0-9]{{1,2}})[- ]?(?:way|pin|pole)s?", re.IGNORECASE)
_TERMINAL = re.compile(rf"TerminalBlock.*?[-_](?:1x)?([0-9]{{1,2}})(?:[-_].*)?_P{_N}mm", re.IGNORECASE)
_ARRAY = re.compile(rf"(?:^|[-_])([0-9]{{1,2}})P-P{_N}", re.IGNORECASE)
_SIZE = re.compile(rf"(?<![0-9.]){_N}x{_N}(?:x{_N})?(?: ?mm)", re.IGNORECASE)
_FOUR = re.compile(
    r"(?:^|[-_ ])(?:SMD|Crystal)[-_]?(?:SMD[-_])?([1-7][0-9])([1-5][0-9])(?:[-_ ]?([24]) ?-?P(?:in)?)?(?:[-_ ]|$)", re.I
)

# IPC-7351 names: lengths in hundredths of a millimetre, body nominal, height greatest.
_LAND = re.compile(
    r"(?P<kind>RESC|RESM|RESMELF|CAPC|CAPCP|CAPM|CAPMP|CAPAE|INDC|INDM|DIOM|DIOC|LEDM|LEDC|FUSM|FUSC|DIOMELF|XTAL|OSCC)"
    r"(?P<body>[0-9]{3,8})X(?P<height>[0-9]{2,4})(?P<density>[LMN])?.*"
)
_LAND_LEADS = re.compile(
    r"(?P<family>SOIC|SOP|SOJ|SOT|SON|QFN|QFP|TO)(?P<pitch>[0-9]{2,3})P(?P<a>[0-9]{3,4})(?:X(?P<b>[0-9]{3,4}))?X(?P<height>[0-9]{2,3})"
    r"-(?P<pins>[0-9]{1,3})(?P<density>[LMN])?.*"
)
_LAND_FAMILY = {
    "RESC": "resistor_body",
    "RESM": "resistor_body",
    "RESMELF": "resistor_body",
    "INDC": "inductor",
    "INDM": "inductor",
    "CAPM": "moulded",
    "CAPMP": "moulded",
    "CAPAE": "can",
    "DIOM": "diode_body",
    "DIOC": "diode_body",
    "DIOMELF": "diode_body",
    "LEDM": "led_body",
    "LEDC": "led_body",
    "FUSM": "fuse_body",
    "FUSC": "fuse_body",
    "XTAL": "crystal",
    "OSCC": "crystal",
}
_BODY_FAMILY = (
    ("inductor", "inductor"),
    ("ferrite", "inductor"),
    ("common_mode", "inductor"),
    ("transformer", "inductor"),
    ("resistor", "resistor_body"),
    ("capacitor", "capacitor_body"),
    ("diode", "diode_body"),
    ("tvs", "diode_body"),
    ("led", "led_body"),
    ("crystal", "crystal"),
    ("oscillator", "crystal"),
    ("resonator", "crystal"),
    ("fuse", "fuse_body"),
    ("switch", "switch_body"),
    ("mosfet", "power_body"),
    ("transistor", "power_body"),
    ("module", "module"),
)


def read_shape(text: str, kind: str) -> Shape | None:
    """Return what a name says of the body, or None; `kind` is the kind of the part, or empty."""
    readers: tuple[Callable[[str, str], Shape | None], ...] = (
        _land,
        _land_leads,
        _ic,
        _round,
        _box,
        _rows_of_pins,
        _body,
    )
    return next((shape for reader in readers if (shape := reader(text, kind))), None)


def _hundredths(digits: str) -> tuple[float, float]:
    half = (len(digits) + 1) // 2
    return int(digits[:half]) / 100, int(digits[half:]) / 100


def _land(text: str, kind: str) -> Shape | None:
    found = _LAND.fullmatch(text)
    if not found:
        return None
    family, digits = _LAND_FAMILY.get(found["kind"], "capacitor_body"), found["body"]
    if len(digits) in (3, 4) and family == "can":
        length = width = int(digits) / 100
    elif len(digits) == 4:
        length, width = int(digits[:2]) / 10, int(digits[2:]) / 10
    elif len(digits) == 8 or found["kind"].startswith("DIO"):
        length, width = _hundredths(digits)
    else:
        return None
    return Shape(family, 2, length, width, int(found["height"]) / 100, None)


def _land_leads(text: str, kind: str) -> Shape | None:
    """Read a pattern that gives the span of the leads: the body is about 2 mm narrower; QFN and SON give the body."""
    found = _LAND_LEADS.fullmatch(text)
    if not found:
        return None
    family, pitch = found["family"], int(found["pitch"]) / 100
    pins, span, height = int(found["pins"]), int(found["a"]) / 100, int(found["height"]) / 100
    if family in ("QFN", "SON"):
        other = int(found["b"] or found["a"]) / 100
        pad = pins % 2
        return Shape(
            "DFN" if family == "SON" else "QFN", pins - pad, max(span, other), min(span, other), height, pitch, pad
        )
    if family == "QFP":
        return Shape("LQFP", pins, span - 2.0, int(found["b"] or found["a"]) / 100 - 2.0, height, pitch)
    if family in ("SOT", "TO"):
        return None
    name = "SOIC" if pitch > 1 else "MSOP" if span < 5.2 else "TSSOP" if span < 7.0 else "SSOP"
    return Shape(name, pins, pins / 2 * pitch, round(span - 2.0, 2), height, pitch)


@cache
def _family_words() -> dict[str, str]:
    return {word: row["family"] for row in tables.rows("package_families") for word in row["words"].split()}


def family_of(word: str) -> str | None:
    """Return the family that a word stands for: `HTSSOP` is TSSOP, `DIL` is DIP; None for any other word."""
    return _family_words().get(word.upper())


def _ic(text: str, kind: str) -> Shape | None:
    found = _IC.search(text)
    if not found:
        return _bga(text)
    family = family_of(found[1])
    if family is None:
        return None
    short, long = sorted((float(found[4]), float(found[5])))
    hidden = int(bool(found[3])) or int(_families()[family]["hidden"] == "yes")
    return Shape(family, int(found[2]), long, short, None, float(found[6]) if found[6] else None, hidden)


def _bga(text: str) -> Shape | None:
    found = _BGA.search(text)
    if not found:
        return None
    short, long = sorted((float(found[3] or found[5]), float(found[4] or found[6])))
    return Shape("BGA", int(found[2]), long, short, None, float(found[7]) if found[7] else None, int(found[2]))


def _round(text: str, kind: str) -> Shape | None:
    if found := _RADIAL.search(text):
        d = float(found[1])
        return Shape("radial_can", 2, d, d, float(found[2]) if found[2] else None, float(found[3]))
    if found := _CAN.search(text):
        return Shape("can", 2, float(found[1]) + 0.3, float(found[1]) + 0.3, float(found[2]), None)
    if found := _AXIAL.search(text):
        family = {"R": "axial_resistor", "D": "axial_diode", "L": "axial_resistor"}.get(found[1].upper(), "axial_can")
        return Shape(family, 2, float(found[2]), float(found[3]), float(found[3]), None)
    if found := _ROUND_LED.search(text):
        return Shape("led_round", 2, float(found[1]), float(found[1]), None, 2.54)
    return None


def _box(text: str, kind: str) -> Shape | None:
    if found := _RECT.search(text):
        family = "disc" if "disc" in text.casefold() else "film"
        height = float(found[1]) if family == "disc" else None
        return Shape(family, 2, float(found[1]), float(found[2]), height, float(found[3]))
    if (found := _MOULDED.search(text)) and kind.startswith(("capacitor", "")):
        return Shape("moulded", 2, int(found[1]) / 10, int(found[2]) / 10, int(found[3]) / 10, None)
    if (found := _FOUR.search(text)) and kind in ("crystal", "oscillator", "resonator"):
        return Shape("crystal", int(found[3] or 4), int(found[1]) / 10, int(found[2]) / 10, None, None)
    return None


def _rows_of_pins(text: str, kind: str) -> Shape | None:
    """Read terminals and pin rows: `PinHeader_2x05_P2.54mm`, `2X10`, `TerminalBlock_3_P5.08mm`."""
    if found := _TERMINAL_WAYS.fullmatch(text):
        n, pitch = int(found[2]), float(found[1])
        return Shape("terminal", n, n * pitch, 8.0, None, pitch)
    if found := _TERMINAL.search(text):
        n, pitch = int(found[1]), float(found[2])
        return Shape("terminal", n, n * pitch, 8.0, None, pitch)
    if kind not in ("connector", "terminal", "jumper", ""):
        return None
    if found := _ARRAY.search(text):
        n, pitch = int(found[1]), float(found[2])
        return Shape("connector", n, (n + 1) * pitch, 5.0, None, pitch, smd="SMD" in text.upper())
    found = _GRID.search(text)
    if not found or (kind == "" and not found["pitch"] and not re.fullmatch(r"[12]x[0-9]{1,2}", text, re.I)):
        return None
    rows, columns = sorted((int(found["rows"]), int(found["columns"])))
    pitch = float(found["pitch"] or 2.54)
    family = "header" if re.search(r"pin ?s?_|pinheader|^[12]x|header|strip", text, re.IGNORECASE) else "connector"
    return Shape(family, rows * columns, columns * pitch, rows * pitch, None, pitch, smd="SMD" in text.upper() or None)


def _body(text: str, kind: str) -> Shape | None:
    """Read a bare size in millimetres; the kind says what stands in it."""
    family = next((family for start, family in _BODY_FAMILY if kind.startswith(start)), None)
    found = _SIZE.search(text) or _EASY.search(text)
    if family is None or found is None:
        return None
    pins = 4 if re.search("4 ?-?p(?:in)?", text, re.IGNORECASE) else 2
    height = float(found[3]) if found.re is _SIZE and found[3] else None
    through = re.search("THT|-TH[_-]|radial|toroid", text, re.IGNORECASE)
    return Shape(family, pins, float(found[1]), float(found[2]), height, None, smd=False if through else None)


@cache
def _families() -> dict[str, tables.Row]:
    return {row["family"]: row for row in tables.rows("package_families")}


_TITLES = {
    "radial_can": "Radial can",
    "can": "Can",
    "axial_can": "Axial can",
    "film": "Film box",
    "disc": "Disc",
    "moulded": "Moulded",
    "axial_resistor": "R axial",
    "axial_diode": "D axial",
    "led_round": "LED round",
    "header": "Pin header",
    "terminal": "Terminal",
    "connector": "Connector",
    "crystal": "Crystal",
    "inductor": "Inductor",
    "resistor_body": "R body",
    "diode_body": "D body",
    "led_body": "LED body",
    "capacitor_body": "C body",
    "fuse_body": "Fuse body",
    "switch_body": "Switch body",
    "module": "Module",
    "power_body": "Power body",
}


def package_of(shape: Shape, written: str) -> Package:
    """Build the package a name describes; what the name leaves out comes from `package_families.csv`.

    The mass is the volume of the body at the family's average density (0.785 of the box for a round can).
    """
    row = _families()[shape.family]
    height = shape.height_mm or float(row["height_mm"])
    through = row["mount"] == "through_hole" if shape.smd is None else not shape.smd
    filled = 0.785 if "can" in shape.family or shape.family.startswith("axial") else 1.0
    grams = shape.length_mm * shape.width_mm * height * filled * float(row["density_g_cm3"]) / 1000
    return Package(
        name=_title(shape),
        written=written,
        mount=Mount.THROUGH_HOLE if through else Mount.SMD,
        length_mm=round(shape.length_mm, 2),
        width_mm=round(shape.width_mm, 2),
        height_mm=round(height, 2),
        pins=shape.pins,
        pitch_mm=shape.pitch_mm,
        tab=None,
        hidden_pads=shape.hidden,
        lead_mm2=float(row["lead_mm2"] or 0.3) if through else None,
        lead_material=(row["lead_material"] or "copper alloy") if through else None,
        mass_g=float(f"{grams:.2g}"),
        mark=row["mark"],
        source=Source("computed", "size from its name, the rest from package_families", Honesty.DERIVED),
    )


def _title(shape: Shape) -> str:
    name, size = _TITLES.get(shape.family, shape.family), f"{shape.length_mm:g}x{shape.width_mm:g}"
    if shape.family == "header":
        rows = max(1, round(shape.width_mm / (shape.pitch_mm or 2.54)))
        return f"{name} {rows}x{shape.pins // rows} {shape.pitch_mm:g}"
    if shape.family in ("connector", "terminal"):
        return f"{name} {shape.pitch_mm:g} {shape.pins}-way"
    if shape.family == "radial_can":
        return f"{name} D{shape.length_mm:g}"
    return f"{name}-{shape.pins} {size}" if name == shape.family else f"{name} {size}"
