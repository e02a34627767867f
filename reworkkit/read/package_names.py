"""Packages by the names people and layout programs write: JEDEC, EIA, IPC-7351, chip sizes and measured strings.

A name matches whole without blanks, dashes and case, or is read as a family with a size; near misses are named, never
applied. The systems of chip sizes share 0402 and 0603: read as inches, which is said; a hint at millimetres is asked.
"""

import difflib
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import NamedTuple

from reworkkit import tables
from reworkkit.errors import ReworkkitError
from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.part import Package
from reworkkit.model.vocabulary import Mount
from reworkkit.read.package_shapes import Shape, family_of, package_of, read_shape


class PackageMatch(NamedTuple):
    """The package a text names, what was assumed in reading it, or the question that stays open."""

    package: Package | None
    assumed: tuple[Message, ...] = ()
    question: NotJudged | None = None


_METRIC = {
    "01005": "0402",
    "0201": "0603",
    "0402": "1005",
    "0603": "1608",
    "0805": "2012",
    "1008": "2520",
    "1206": "3216",
    "1210": "3225",
    "1218": "3246",
    "1806": "4516",
    "1808": "4520",
    "1812": "4532",
    "1825": "4564",
    "2010": "5025",
    "2114": "3652",
    "2220": "5750",
    "2225": "5763",
    "2410": "6125",
    "2512": "6332",
    "2816": "7142",
    "5931": "1577",
}
_IMPERIAL = {metric: code for code, metric in _METRIC.items() if metric not in ("0402", "0603")} | {"2013": "0805"}
_BOTH_SYSTEMS = ("0402", "0603")
_LOST_ZERO = {"402": "0402", "603": "0603", "805": "0805", "201": "0201"}
_CHIP = re.compile(
    r"(?:(?P<before>R|C|L|D|F|FB|LED|CP|CPOL|RES|CAP|IND|FUSE|SMD|CHIP|DIODE|R-US|C-US|R-EU|C-EU|LEDC)[-_ ]?)??"
    rf"(?P<code>{'|'.join([*_METRIC, *_IMPERIAL])})"
    r"(?:[-_ /]*\(?(?P<pair>[0-9]{4,5})\)?)?(?:[-_ ]?(?P<metric>METRIC|M)\)?)?"
    r"(?P<after>(?:[-_ ](?:[A-Z]+|PAD[0-9.]+X[0-9.]+MM))*)"
)
_CHIP_OF_KIND = (
    ("resistor_network", ""),
    ("resistor", "R"),
    ("fusible", "R"),
    ("thermistor", "R"),
    ("varistor", "C"),
    ("jumper", "R"),
    ("capacitor", "C"),
    ("filter", "C"),
    ("inductor", "L"),
    ("ferrite", "L"),
    ("led", "LED"),
    ("diode", "D"),
    ("tvs", "D"),
    ("fuse", "Fuse"),
    ("resettable", "Fuse"),
)
_CHIP_OF_LETTERS = {"R": "R", "C": "C", "L": "L", "I": "L", "F": "Fuse", "D": "D"}
_NOISE = re.compile(
    r"_?hand-?solder(?:ing)?|_pad[0-9.]+x[0-9.]+mm|[_-]?thermalvias?(?:-[0-9])?|_tabpin[0-9]|_longpads|_socket"
    r"|-footprint-[0-9]+|_ep[0-9.]+x[0-9.]+mm|_clockwisepinnumbering|_top-?mnt|_castellated",
    re.IGNORECASE,
)
_DIRECTION = re.compile(r"_(?:horizontal|vertical|straight|angled|inline|wide|open)", re.IGNORECASE)
_MEASURES = re.compile(r"_L[0-9.]+-W[0-9.]+-.*$")
_LEADING = re.compile(r"(?:D|C|CP|R|L|Q|U|IC|LED|DIODE|FUSE)[_ -](?=[A-Z])")
_FAMILY_PINS = re.compile(r"(?:^|_)([A-Z]{2,7}(?:-I{1,2})?)[-_ ]?([0-9]{1,3})(?=$|[-_ /(])", re.IGNORECASE)
_ONLY_FOR = {"SMA": "diode tvs led", "SMB": "diode tvs led", "SMC": "diode tvs led"}
_ROWS_OF_FAMILY = {
    "resistor_body": ("R chip", "R array", "MELF", "MiniMELF", "MicroMELF"),
    "capacitor_body": ("C chip",),
    "diode_body": ("SM", "SOD", "D chip", "MELF", "MiniMELF", "MicroMELF"),
    "led_body": ("LED",),
    "fuse_body": ("Fuse",),
    "inductor": ("L chip", "Inductor"),
    "can": ("Can",),
    "radial_can": ("Radial can", "Snap-in"),
    "axial_resistor": ("R axial",),
    "axial_diode": ("DO-",),
    "axial_can": ("Axial",),
    "moulded": ("Moulded",),
    "crystal": ("Crystal",),
    "film": ("Film",),
    "disc": ("Disc",),
    "led_round": ("LED 3", "LED 5"),
    "terminal": ("Terminal",),
    "power_body": ("Power",),
}
_QUESTION = "which-package"


@cache
def _normal(text: str) -> str:
    return re.sub("[^0-9a-zµ]+", "", text.casefold())


@cache
def _by_name() -> dict[str, tables.Row]:
    rows = {row["name"]: row for row in tables.rows("packages")}
    names = {
        _normal(row["alias"]): rows[row["name"]] for row in tables.rows("package_aliases") if row["alias"][-1] != "*"
    }
    return names | {_normal(name): row for name, row in rows.items()}


@cache
def _beginnings() -> tuple[tuple[str, tables.Row], ...]:
    rows = {row["name"]: row for row in tables.rows("packages")}
    aliases = tables.rows("package_aliases")
    return tuple((_normal(a["alias"]), rows[a["name"]]) for a in aliases if a["alias"].endswith("*"))


def package_from_row(row: tables.Row, written: str) -> Package:
    """Build a package record from a row of `packages.csv`; `written` is the text it was named by."""
    number = {key: float(value) if value else None for key, value in row.items() if key.endswith(("_mm", "_mm2", "_g"))}
    tab = number["tab_length_mm"], number["tab_width_mm"], number["tab_thickness_mm"]
    return Package(
        name=row["name"],
        written=written,
        mount=Mount(row["mount"]),
        length_mm=float(row["length_mm"]),
        width_mm=float(row["width_mm"]),
        height_mm=float(row["height_mm"]),
        pins=int(row["pins"]),
        pitch_mm=number["pitch_mm"],
        tab=None if tab[0] is None or tab[1] is None or tab[2] is None else (tab[0], tab[1], tab[2]),
        hidden_pads=int(row["hidden_pads"]),
        lead_mm2=number["lead_mm2"],
        lead_material=row["lead_material"] or None,
        mass_g=number["mass_g"],
        mark=row["mark"],
        source=tables.source(row["source"], row["place"]),
    )


def resolve_package(
    text: str, kind: str | None = None, pins: int | None = None, folder: Path | None = None
) -> PackageMatch:
    """Find the package a text names; with no match, the question holds the nearest name as a suggestion.

    `kind` (a key of `part_kinds.csv`) tells a chip resistor from a chip capacitor; `pins`, from a netlist, completes a
    family written without a number. Rows of `folder`/tables/packages.csv win over the shipped ones.

    >>> resolve_package("C_0603_1608Metric").package.name, resolve_package("SOT23").package.name
    ('C chip 0603', 'SOT-23')
    """
    found = find_package(text, kind, pins, folder)
    if found.package or found.question or not text.strip():
        return found
    near = difflib.get_close_matches(_normal(_clean(text)), _by_name(), 1, 0.8)
    name = _by_name()[near[0]]["name"] if near else ""
    because = message("package-near-miss", text=text, near=name) if name else message("package-not-known", text=text)
    return PackageMatch(
        None, (), NotJudged((), message(_QUESTION, text=text), because, f'package = "{name or "SOT-23"}"')
    )


@cache
def find_package(
    text: str, kind: str | None = None, pins: int | None = None, folder: Path | None = None
) -> PackageMatch:
    """Find the package a text names, as `resolve_package` does, but without looking for near misses (fast)."""
    clean = _clean(text)
    own = _own_rows(folder) if folder else {}
    if row := own.get(_normal(text.strip())) or own.get(_normal(clean)):
        return PackageMatch(package_from_row(row, text))
    found = _find(clean, text, kind, pins) if clean else PackageMatch(None)
    row = own.get(_normal(found.package.name)) if found.package else None
    return found._replace(package=package_from_row(row, text)) if row else found


def package_in_words(text: str, kind: str | None) -> str:
    """Return the word of a text that names a package or chip size by itself; empty where none does.

    >>> package_in_words("78L09 TO-92", "linear_regulator"), package_in_words("BC547", "transistor_bipolar")
    ('TO-92', '')
    """
    return next((w for word in text.split() if _named_alone(w := word.strip(",;()[]"), kind)), "")


def _named_alone(word: str, kind: str | None) -> bool:
    names = _chip if re.fullmatch("[0-9]{4}", word) else _named
    return bool(names(word, word, kind) and re.search("[0-9]", word))


@cache
def _own_rows(folder: Path) -> dict[str, tables.Row]:
    """Return the rows that the board's own folder adds or changes; each must be whole and hold figures."""
    own = {_normal(row["name"]): row for row in tables.rows_for("packages", folder) if row["source"] == "yours"}
    for row in own.values():
        try:
            package_from_row(row, "")
        except (KeyError, ValueError) as error:
            raise ReworkkitError("table-row-not-readable", table="packages", row=row["name"], why=str(error)) from error
    return own


def _find(clean: str, written: str, kind: str | None, pins: int | None) -> PackageMatch:
    for part in clean.split(" or "):
        found = _named(part, written, kind) or _chip(part, written, kind) or _shaped(part, written, kind)
        if found := found or _partly_named(part, written, kind) or _family(part, written, pins):
            return found
    return PackageMatch(None)


def _clean(text: str) -> str:
    """Drop the library before the colon and what says only how the lands are drawn."""
    last = text.strip().rpartition(":")[2].split(",")[0].strip()
    return _NOISE.sub("", re.sub("_?pitch", "_P", last, flags=re.IGNORECASE)).strip(" _-")


def _row(name: str, kind: str | None) -> tables.Row | None:
    row = _by_name().get(_normal(name))
    only = _ONLY_FOR.get(row["name"]) if row else None
    return None if only and kind and not kind.startswith(tuple(only.split())) and kind != "unknown" else row


def _named(clean: str, written: str, kind: str | None) -> PackageMatch | None:
    if re.fullmatch("[0-9]+", clean):
        return None
    shorter = _MEASURES.sub("", _DIRECTION.sub("", clean))
    for name in dict.fromkeys((clean, shorter, _LEADING.sub("", shorter.upper(), count=1))):
        if row := _row(name, kind):
            return PackageMatch(package_from_row(row, written))
    begun = next((row for start, row in _beginnings() if _normal(clean).startswith(start)), None)
    return PackageMatch(package_from_row(begun, written)) if begun else None


def _partly_named(clean: str, written: str, kind: str | None) -> PackageMatch | None:
    """Match a piece between underscores or before a bracket, where the rest gives no size: `D_DO-35_SOD27_P7.62mm`."""
    pieces = [piece for piece in re.split(r"_|\s+|\(|\)", clean) if len(_normal(piece)) >= 4 or piece == "SO8"]
    for piece in pieces:
        row = None if re.fullmatch("[0-9]+", piece) else _row(piece, kind)
        if row and row["name"] not in _ONLY_FOR:
            return PackageMatch(
                package_from_row(row, written), (message("package-from-part-of-text", text=written, name=row["name"]),)
            )
    first = re.match(r"D_(SM[ABC])(?:_|$)", clean)
    row = _by_name().get(_normal(first[1])) if first else None
    return PackageMatch(package_from_row(row, written)) if row else None


def _chip(clean: str, written: str, kind: str | None) -> PackageMatch | None:
    upper = clean.upper()
    if upper in _LOST_ZERO and _chip_letter(kind, ""):
        found = _chip(_LOST_ZERO[upper], written, kind)
        lost = message("package-lost-zero", text=written, code=_LOST_ZERO[upper])
        return found._replace(assumed=(lost, *found.assumed)) if found else None
    match = _CHIP.fullmatch(upper)
    if not match:
        return None
    letter = _chip_letter(kind, match["before"] or ("LED" if "LED" in match["after"] else match["after"].strip("-_ ")))
    if not letter:
        return None
    return _chip_of(match, letter, written)


def _chip_letter(kind: str | None, letters: str) -> str:
    for start, letter in _CHIP_OF_KIND:
        if kind and kind.startswith(start):
            return letter
    if letters.startswith(("LED", "CHIPLED")):
        return "LED"
    return _CHIP_OF_LETTERS.get(letters[:1], "") if kind in (None, "", "unknown") or letters else ""


def _chip_of(match: re.Match[str], letter: str, written: str) -> PackageMatch | None:
    code, pair = match["code"], match["pair"]
    if pair is None and match["metric"] and code in _BOTH_SYSTEMS:
        return _which_system(code, letter, written)
    if pair and code in _METRIC and _METRIC[code] != pair and _IMPERIAL.get(pair) != code:
        return _which_system(code, letter, written) if pair in (*_METRIC, *_IMPERIAL) else None
    code = code if code in _METRIC else _IMPERIAL[code]
    row = _by_name().get(_normal(f"{letter} chip {code}"))
    row = row or next((r for other in "CR" if (r := _by_name().get(_normal(f"{other} chip {code}")))), None)
    if row is None:
        return None
    alone = match["code"] in _BOTH_SYSTEMS and pair is None
    assumed = (message("package-read-as-inches", text=written, code=code, metric=_METRIC[code]),) if alone else ()
    return PackageMatch(package_from_row(row, written), assumed)


def _which_system(code: str, letter: str, written: str) -> PackageMatch:
    inch = next((small for small, metric in _METRIC.items() if metric == code), code)
    because = message("package-two-systems", text=written, one=f"{letter} chip {code}", other=f"{letter} chip {inch}")
    answer = f'package = "{letter} chip {code}"'
    return PackageMatch(None, (), NotJudged((), message(_QUESTION, text=written), because, answer))


def _shaped(clean: str, written: str, kind: str | None) -> PackageMatch | None:
    if named := _named_land(clean, written):
        return named
    shape = read_shape(clean, kind or "")
    if shape is None:
        return None
    if row := _row_of(shape, clean):
        package = package_from_row(row, written)
        return PackageMatch(replace(package, pitch_mm=shape.pitch_mm or package.pitch_mm))
    return PackageMatch(package_of(shape, written), (message("package-from-its-name", text=written),))


_LAND_NAMES = (
    (re.compile(r"SOT95P2[0-9]{2}X[0-9]+-([356])[LMN]?.*"), {"3": "SOT-23", "5": "SOT-23-5", "6": "SOT-23-6"}),
    (re.compile(r"SOT65P2[0-9]{2}X[0-9]+-([356])[LMN]?.*"), {"3": "SOT-323", "5": "SC-70-5", "6": "SOT-363"}),
    (re.compile(r"SOT50P1[0-9]{2}X[0-9]+-([6])[LMN]?.*"), {"6": "SOT-563"}),
    (re.compile(r"SOT230P700X[0-9]+-([4])[LMN]?.*"), {"4": "SOT-223"}),
    (re.compile(r"TO228P[0-9]+X[0-9]+-([345])[LMN]?.*"), {"3": "TO-252", "4": "TO-252", "5": "TO-252-5"}),
    (re.compile(r"TO254P[0-9]+X[0-9]+-([34])[LMN]?.*"), {"3": "TO-263", "4": "TO-263"}),
    (re.compile(r"DIOM(52)26X[0-9]+.*"), {"52": "SMA"}),
    (re.compile(r"DIOM(5[34])36X[0-9]+.*"), {"53": "SMB", "54": "SMB"}),
    (re.compile(r"DIOM(79)[56][0-9]X[0-9]+.*"), {"79": "SMC"}),
)


def _named_land(clean: str, written: str) -> PackageMatch | None:
    """Read the IPC-7351 names of transistor outlines and moulded diodes, which give the span of the leads."""
    for pattern, names in _LAND_NAMES:
        if found := pattern.fullmatch(clean):
            return PackageMatch(package_from_row(_by_name()[_normal(names[found[1]])], written))
    return None


def _row_of(shape: Shape, clean: str) -> tables.Row | None:
    """Return the row of `packages.csv` that a shape is: same family and pins, body and pitch as near as names are."""
    starts = _ROWS_OF_FAMILY.get(
        shape.family, (shape.family + "-", "VSSOP-") if shape.family == "MSOP" else (shape.family + "-",)
    )
    spans = bool(re.match("SO(?:IC|P|J)[0-9]+P|QFP[0-9]+P", clean))
    fits = [row for row in tables.rows("packages") if row["name"].startswith(starts) and _alike(row, shape, spans)]
    return min(fits, key=lambda row: _distance(row, shape), default=None)


def _alike(row: tables.Row, shape: Shape, spans: bool) -> bool:
    length, width = float(row["length_mm"]), float(row["width_mm"])
    slack = 0.6 if spans else 0.2
    ends = abs(length - shape.length_mm) <= (2.5 if spans else slack) or shape.family == "radial_can"
    tall = shape.height_mm is None or spans or abs(float(row["height_mm"]) - shape.height_mm) <= 0.75
    pitch = (
        not row["pitch_mm"]
        or shape.pitch_mm is None
        or shape.family in ("disc", "radial_can")
        or _same_pitch(row, shape)
    )
    pad = shape.family not in ("SOIC", "MSOP", "TSSOP") or bool(int(row["hidden_pads"])) == bool(shape.hidden)
    return int(row["pins"]) == shape.pins and ends and abs(width - shape.width_mm) <= slack and tall and pitch and pad


def _same_pitch(row: tables.Row, shape: Shape) -> bool:
    return abs(float(row["pitch_mm"]) - (shape.pitch_mm or 0)) <= 0.03


def _distance(row: tables.Row, shape: Shape) -> float:
    body = abs(float(row["length_mm"]) - shape.length_mm) + abs(float(row["width_mm"]) - shape.width_mm)
    return body + (abs(float(row["height_mm"]) - shape.height_mm) if shape.height_mm else 0)


def _family(clean: str, written: str, pins: int | None) -> PackageMatch | None:
    """Read a family with a pin count and no size: settled where only one such body is known, else asked."""
    found = _FAMILY_PINS.search(clean)
    word, count = (found[1], int(found[2])) if found else (clean, pins)
    family = family_of(word)
    if family is None or count is None:
        return None
    rows = [
        row
        for row in tables.rows("packages")
        if row["name"].startswith(f"{family}-{count}") and int(row["pins"]) == count
    ]
    if len(rows) == 1:
        return PackageMatch(
            package_from_row(rows[0], written), (message("package-usual-size", text=written, name=rows[0]["name"]),)
        )
    if not rows:
        return None
    names = ", ".join(row["name"] for row in rows)
    because = message("package-several-sizes", text=written, names=names)
    return PackageMatch(
        None, (), NotJudged((), message(_QUESTION, text=written), because, f'package = "{rows[0]["name"]}"')
    )
