"""Make the generated files of the example boards from one schematic each: `python -m tests.example_board_maker`.

`tests/schematics/NAME.csv` holds one row a part: what it is, where it sits, and the net of each pin in the order of
its package. From it come the parts list, the placement and the IPC-D-356A netlist of `example_boards/NAME`, and the
net table in its about.md, so that the four cannot disagree.
"""

import csv
import io
import math
from pathlib import Path
from typing import NamedTuple

from reworkkit.model.designator import natural_key
from tests.example_packages import OUTLINES, Land

PROJECT = Path(__file__).resolve().parent.parent
SCHEMATICS = PROJECT / "tests" / "schematics"
LIST_COLUMNS = ("Designator", "Qty", "Value", "Package", "Description", "Part number", "Note")
BEGIN, END = "<!-- net table: made from the schematic -->", "<!-- end of net table -->"


class Row(NamedTuple):
    """One part of a schematic."""

    ref: str
    value: str
    package: str
    description: str
    part_number: str
    note: str
    fit: str
    x: float
    y: float
    rotation: int
    side: str
    nets: tuple[str, ...]

    def pins(self) -> dict[str, str]:
        """Return the net of each pin number; `-` is a pin that goes nowhere."""
        numbers = list(dict.fromkeys(land.pin for land in OUTLINES[self.package].lands))
        numbers.sort(key=lambda pin: (not pin.isdigit(), int(pin) if pin.isdigit() else 0))
        return dict(zip(numbers, self.nets, strict=True))

    def lands(self) -> list[tuple[Land, float, float]]:
        """Return each pad with its place on the board, seen from the top."""
        return [(land, *self.on_board(land.x, land.y)) for land in OUTLINES[self.package].lands]

    def on_board(self, x: float, y: float) -> tuple[float, float]:
        """Turn a point of the package to its place on the board."""
        mirrored = -x if self.side == "bottom" else x
        cos, sin = round(math.cos(math.radians(self.rotation))), round(math.sin(math.radians(self.rotation)))
        return self.x + cos * mirrored - sin * y, self.y + sin * mirrored + cos * y

    def box(self) -> tuple[float, float, float, float]:
        """Return left, bottom, right, top of body and pads together."""
        outline = OUTLINES[self.package]
        halves = [(0.0, 0.0, outline.length / 2, outline.width / 2)]
        halves += [(land.x, land.y, land.width / 2, land.height / 2) for land in outline.lands]
        corners = [self.on_board(x + i * w, y + j * h) for x, y, w, h in halves for i in (-1, 1) for j in (-1, 1)]
        xs, ys = zip(*corners, strict=True)
        return min(xs), min(ys), max(xs), max(ys)


class Design(NamedTuple):
    """What a schematic needs beside its parts: board name, size, layers, hardware lines, and its vias."""

    name: str
    title: str
    width: float
    height: float
    layers: int
    hardware: tuple[tuple[str, str, str, str], ...] = ()
    vias: tuple[tuple[str, float, float, float], ...] = ()


DESIGNS = (
    Design(
        "greenhouse-valves",
        "GREENHOUSE VALVE CONTROLLER REV B",
        100,
        80,
        4,
        (
            ("1", "heat sink plate", "aluminium 60x40x3", "bolts to the right edge, Q5 sits on it"),
            ("1", "M3x10 screw", "", "Q5 to the plate"),
            ("1", "insulator TO-220", "mica or silicone", "between Q5 and the plate, with bush"),
        ),
        tuple(("GND", 70.2 + 2 * i, 64 + 2 * j, 0.4) for i in range(4) for j in range(3))
        + tuple(("+3V3", 89.15, 41 + j, 0.3) for j in range(3)),
    ),
    Design(
        "magnet-clamp",
        "MAGNET CLAMP 120 V REV A",
        160,
        100,
        2,
        (
            ("1", "heat sink plate", "aluminium 80x60x4", "earthed; Q1 and D1 sit on it"),
            ("2", "M3x12 screw", "", "Q1 and D1 to the plate"),
            ("1", "insulator TO-247", "", "between Q1 and the plate"),
            ("1", "insulator TO-220", "", "between D1 and the plate, with bush"),
        ),
    ),
)


def read_schematic(name: str) -> list[Row]:
    """Read `tests/schematics/NAME.csv`."""
    with (SCHEMATICS / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return [_row(cells) for cells in csv.DictReader(file)]


def _row(cells: dict[str, str]) -> Row:
    return Row(
        cells["ref"],
        cells["value"],
        cells["package"],
        cells["description"],
        cells["part_number"],
        cells["note"],
        cells["fit"],
        float(cells["x_mm"]),
        float(cells["y_mm"]),
        int(cells["rotation_deg"]),
        cells["side"],
        tuple(cells["nets"].split()),
    )


def parts_list(design: Design, rows: list[Row]) -> str:
    """Return the list as a person's spreadsheet has it: one row a kind of part, `DNF` in the note."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for row in rows:
        note = ", ".join(text for text in (row.fit, row.note) if text)
        groups.setdefault((row.value, row.package, row.description, row.part_number, note), []).append(row.ref)
    sorted_refs = {cells: sorted(refs, key=natural_key) for cells, refs in groups.items()}
    kinds = sorted(groups, key=lambda cells: natural_key(sorted_refs[cells][0]))
    lines = [(", ".join(sorted_refs[cells]), str(len(groups[cells])), *cells) for cells in kinds]
    lines += [
        ("", quantity, value, "", description, "", note) for quantity, value, description, note in design.hardware
    ]
    return _csv([LIST_COLUMNS, *lines])


def placement(rows: list[Row]) -> str:
    """Return the placement: millimetres, origin at the lower left corner, everything seen from the top."""
    lines = [(row.ref, f"{row.x:.2f}", f"{row.y:.2f}", str(row.rotation), row.side) for row in rows]
    return _csv([("Designator", "X (mm)", "Y (mm)", "Rotation", "Side"), *lines])


def _csv(lines: list[tuple[str, ...]]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(lines)
    return out.getvalue()


def net_names(rows: list[Row]) -> list[str]:
    """Return the nets of a schematic in natural order."""
    return sorted({net for row in rows for net in row.nets if net != "-"}, key=natural_key)


def netlist(design: Design, rows: list[Row]) -> str:
    """Return the IPC-D-356A netlist in units of 0.001 mm (CUST 1)."""
    aliases = {net: f"NNAME{i:05d}" for i, net in enumerate((n for n in net_names(rows) if len(n) > 14), start=1)}
    lines = [f"P  JOB   {design.title}", "P  UNITS CUST 1", "P  VER   IPC-D-356A", "P  IMAGE PRIMARY"]
    lines += [f"P  {alias} {net}" for net, alias in aliases.items()]
    for row in rows:
        for land, x, y in row.lands():
            net = row.pins()[land.pin]
            written = "N/C" if net == "-" else aliases.get(net, net)
            lines.append(_record(design, row, land, written, x, y))
    for net, x, y, hole in design.vias:
        head = f"317{aliases.get(net, net):<14}   VIA   -    M"
        lines.append(f"{head}D{_four(hole)}PA00{_place(x, y)}X{_four(hole + 0.4)}Y0000     S3")
    edge = f"X{_six(design.width)}", f"Y{_six(design.height)}"
    lines.append(f"389BOARD_EDGE       X0100Y0 X{_six(0)}Y{_six(0)} {edge[0]} {edge[1]} X{_six(0)} Y{_six(0)}")
    return "\n".join([*lines, "999", ""])


def _record(design: Design, row: Row, land: Land, net: str, x: float, y: float) -> str:
    side = "00" if land.hole else "01" if row.side == "top" else f"{design.layers:02d}"
    code = "327" if not land.hole else "317" if land.plated else "367"
    drill = f"D{_four(land.hole)}{'P' if land.plated else 'U'}" if land.hole else " " * 6
    round_land = land.hole and land.width == land.height and land.pin != "1"
    turned = "    " if land.hole else f"R{row.rotation:03d}"
    size = f"X{_four(land.width)}Y{'0000' if round_land else _four(land.height)}{turned}"
    return f"{code}{net:<14}   {row.ref:<6}-{land.pin:<4} {drill}A{side}{_place(x, y)}{size} S0"


def _four(mm: float) -> str:
    return f"{round(mm * 1000):04d}"


def _six(mm: float) -> str:
    return f"{round(mm * 1000):+07d}"


def _place(x: float, y: float) -> str:
    return f"X{_six(x)}Y{_six(y)}"


def net_table(rows: list[Row]) -> str:
    """Return the connections as a Markdown table: one net a row."""
    pins: dict[str, list[str]] = {}
    for row in rows:
        for number, net in row.pins().items():
            pins.setdefault(net, []).append(f"{row.ref}.{number}")
    lines = [f"| {net} | {' '.join(sorted(pins[net], key=natural_key))} |" for net in net_names(rows)]
    return "\n".join([BEGIN, "| net | pins |", "|---|---|", *lines, END])


def about_page(written: str, rows: list[Row]) -> str:
    """Return about.md with its net table renewed."""
    head, _, rest = written.partition(BEGIN)
    return head + net_table(rows) + rest.partition(END)[2]


def generated(design: Design) -> dict[Path, str]:
    """Return the text of every generated file of one board, by path."""
    folder = PROJECT / "example_boards" / design.name
    rows = read_schematic(design.name)
    return {
        folder / "bom.csv": parts_list(design, rows),
        folder / "placement.csv": placement(rows),
        folder / "netlist.ipc": netlist(design, rows),
        folder / "about.md": about_page((folder / "about.md").read_text(encoding="utf-8"), rows),
    }


def main() -> None:
    """Write all generated files."""
    for design in DESIGNS:
        for path, text in generated(design).items():
            path.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
