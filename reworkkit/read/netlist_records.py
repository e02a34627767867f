"""Records of an IPC-D-356 or 356A netlist: one line of text in, its fields out; columns as in the standard.

Lengths stay whole numbers in the unit of the file (0.0001 inch or 0.001 mm). The geometry of a record is found by
its letters, not by its column, because exporters write seven digits, cut trailing blanks or slip by one column; the
columns of net, designator and pin follow from where the geometry stands.
"""

import re
from typing import NamedTuple

TEST_CODES = frozenset({"317", "327", "367", "307", "017", "027", "007", "067"})
CONTINUATION_CODES = frozenset({"017", "027", "007", "067"})
OUTLINE_CODES = frozenset({"389", "089"})
UNUSED_CODES = frozenset(
    {"099", "088", "309", "009", "378", "078", "379", "079", "370", "070", "380", "080", "390", "090"}
)
END_CODE = "999"
VIA = "VIA"
REF_WIDTH, PIN_WIDTH, NET_WIDTH = 6, 4, 14

_REF_AT, _DASH_AT, _MID_AT, _X_AT = 20, 26, 31, 41
_GEOMETRY = re.compile(
    r"(?:D([ \d]{3}\d)([PU ]) ?)?(?:A([ \d]\d) ?)? {0,3}"
    r"X([+-]?)( *\d{1,8})Y([+-]?)( *\d{1,8})"
    r"(?:X( *\d{1,6})(?:Y( *\d{1,6})?)?)?(?:R( *\d{1,4}))?"
)
_PARAMETER = re.compile(r"P\s+(\S+)\s*(.*)")
_ALIAS = re.compile(r"P\s+NNAME\s?(\S+)\s+(\S.*)")
_OUTLINE_TOKEN = re.compile(r"\*|X([+-]?)( *\d+)(?:Y([+-]?)( *\d+))?|Y([+-]?)( *\d+)")


class Record(NamedTuple):
    """One test record: lengths in the unit of the file; `access` 0 both sides, 1 top, more the last outer layer."""

    code: str
    net: str
    ref: str
    ref_full: bool
    """True where the designator fills its field, so that it may be cut."""
    pin: str
    drill: int | None
    plated: bool
    access: int | None
    x: int
    y: int
    size_x: int
    size_y: int
    rotation: int
    shifted: bool
    line: int
    round: bool = False
    """True where only one size is given: the standard's way to write a round land."""


def parameter(line: str) -> tuple[str, str]:
    """Return name and value of a `P` record; the name is upper case.

    >>> parameter("P  UNITS CUST 0")
    ('UNITS', 'CUST 0')
    """
    match = _PARAMETER.match(line)
    return (match[1].upper(), match[2].strip()) if match else ("", "")


def alias(line: str) -> tuple[str, str] | None:
    """Return the number and the real name of a net-name alias, or None where the line is none.

    >>> alias("P  NNAME00001 BUCK_CONVERTER_FEEDBACK_NODE")
    ('00001', 'BUCK_CONVERTER_FEEDBACK_NODE')
    """
    match = _ALIAS.match(line)
    return (match[1], match[2].strip()) if match else None


def parse_record(line: str, number: int) -> Record | None:
    """Return the fields of a test record, or None where its geometry cannot be found."""
    match = _GEOMETRY.search(line, _MID_AT - 1)
    if match is None:
        return None
    drill, plated, access, x_sign, x, y_sign, y, size_x, size_y, rotation = match.groups()
    slip = match.start(4) - 1 - _X_AT
    dash = _dash(line, slip)
    ref_at, ref_end = (_REF_AT + dash - _DASH_AT, dash) if dash >= 0 else (_REF_AT, _DASH_AT + max(slip, 0))
    pin_end = min(dash + 1 + PIN_WIDTH, _MID_AT + slip, match.start())
    ref = line[ref_at:ref_end].rstrip()
    width = _whole(size_x)
    code = line[:3]
    return Record(
        code=code,
        net=line[3:ref_at].strip(),
        ref=ref.strip(),
        ref_full=len(ref) >= REF_WIDTH,
        pin=line[dash + 1 : pin_end].strip() if dash >= 0 else "",
        drill=int(drill) if drill else None,
        plated=plated == "P" or (plated == " " and code[1:] != "67"),
        access=int(access) if access else None,
        x=_signed(x_sign, x),
        y=_signed(y_sign, y),
        size_x=width,
        size_y=_whole(size_y) or width,
        rotation=_whole(rotation),
        shifted=slip != 0 or dash not in (-1, _DASH_AT),
        line=number,
        round=width > 0 and not _whole(size_y),
    )


def outline_points(line: str, start: tuple[int, int]) -> tuple[list[list[tuple[int, int]]], tuple[int, int]]:
    """Return the runs of points of an outline record, and the last point: X and Y stay as they were where not given.

    `*` starts a new run. The first token of a 389 record that has no sign and at most four digits is the line width.

    >>> outline_points("389BOARD_EDGE       X0100Y0 X+000000Y+000000 X+040000 Y+030000", (0, 0))
    ([[(0, 0), (40000, 0), (40000, 30000)]], (40000, 30000))
    """
    runs: list[list[tuple[int, int]]] = [[]]
    at = start
    tokens = list(_OUTLINE_TOKEN.finditer(line, 17))
    if tokens and line.startswith("389") and _is_width(tokens[0]):
        del tokens[0]
    for token in tokens:
        if token[0] == "*":
            runs.append([])
            continue
        x_sign, x, y_sign, y, lone_sign, lone_y = token.groups()
        y_sign, y = (lone_sign, lone_y) if lone_y else (y_sign, y)
        at = (_signed(x_sign, x) if x else at[0], _signed(y_sign, y) if y else at[1])
        runs[-1].append(at)
    return [run for run in runs if run], at


def outline_kind(line: str) -> str:
    """Return the kind of an outline record, for instance `BOARD_EDGE`; empty where a continuation names none."""
    return line[3:17].strip().upper()


def _is_width(token: re.Match[str]) -> bool:
    return not token[1] and not token[3] and bool(token[4]) and max(len(token[2]), len(token[4])) <= PIN_WIDTH


def _dash(line: str, slip: int) -> int:
    """Return where the dash before the pin stands, or -1 where there is none (a via, a hole without a pin)."""
    for at in dict.fromkeys((_DASH_AT + slip, _DASH_AT, _DASH_AT + 1)):
        if line[at : at + 1] == "-" and line[at + 1 : at + 2] != " ":
            return at
    return -1


def _signed(sign: str | None, digits: str) -> int:
    return -int(digits) if sign == "-" else int(digits)


def _whole(digits: str | None) -> int:
    return int(digits) if digits else 0
