"""Write a section as a board folder: bom.csv, netlist.csv, fitted.csv, board.toml."""

import csv
import io

from tests.fault_bench.meter import METERS
from tests.fault_bench.parts import MANY_PINS, REGULATING, Part, Section

HOLD_POINT = "all rails"


def board_files(section: Section) -> dict[str, str]:
    """Return the files of a board folder by name."""
    return {
        "bom.csv": _csv(("Designator", "Quantity", "Value", "Package", "Description"), _list_rows(section)),
        "netlist.csv": _csv(("designator", "pin", "net", "name"), _pin_rows(section)),
        "fitted.csv": "Designator,State\n" + "".join(f"{part.ref},fitted\n" for part in section.parts),
        "board.toml": _facts(section),
    }


def write_board(section: Section) -> None:
    """Write the board folder of a section."""
    section.folder.mkdir(parents=True, exist_ok=True)
    for name, text in board_files(section).items():
        (section.folder / name).write_text(text, encoding="utf-8")


def _csv(heading: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(heading)
    writer.writerows(rows)
    return out.getvalue()


def _list_rows(section: Section) -> list[tuple[str, ...]]:
    return [(part.ref, "1", part.value, part.package, part.description) for part in section.parts]


def _pin_rows(section: Section) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for part in section.parts:
        for role, number in sorted(part.pins.items(), key=lambda item: int(item[1])):
            rows.append((part.ref, number, part.roles[role], "" if role == number else role))
    return rows


def _facts(section: Section) -> str:
    lines = [
        f"# {section.title}: invented section of a greenhouse controller.",
        "format = 1",
        f'name = "{section.title}"',
        "",
        "[board]",
        'ground = ["GND"]',
        "",
        "[supplies]",
        _supply(section),
        "",
        "[rails]",
        *(_rail(section, net, text) for net, text in section.rails.items()),
        "",
        "[loads]",
        *(_load(section.part(ref), *figures) for ref, figures in section.loads.items()),
        "",
        "[points]",
        *(f'TP{n} = "{point}"' for n, point in enumerate(section.points, 1)),
        "",
        "[parts]",
        *(line for part in section.parts if (line := _part(section, part))),
        "",
        "[[hold_points]]",
        f'name = "{HOLD_POINT}"',
        f'supply = "{section.supply_net}"',
        "measure = [" + ", ".join(f'"{net}"' for net in section.rails) + "]",
        "",
        "[bench.meter]",
        *_meter(section),
        "red_is_plus_in_ohms = true",
        "red_is_plus_in_diode = true",
        'diode_test_limit = "2.8 V"',
    ]
    return "\n".join(lines) + "\n"


def _supply(section: Section) -> str:
    wide = f', tolerance = "{section.supply_percent:g} %"' if section.supply_percent != 1.0 else ""
    figures = f'volts = "{section.supply_v:g} V"{wide}, limit = "{section.limit_a:g} A"'
    return f'{section.supply_net} = {{ {figures}, at = "J1.1" }}'


def _meter(section: Section) -> list[str]:
    has = METERS[section.meter]
    return [
        f'volts = "{has.volt[0]:g} % + {has.volt[1] * 1000:g} mV"',
        f'amps = "{has.amp[0]:g} % + {has.amp[1] * 1000:g} mA"',
        f'ohms = "{has.ohm[0]:g} % + {has.ohm[1]:g} ohm"',
    ]


def _rail(section: Section, net: str, text: str) -> str:
    volts, tolerance = text.split(" V ")
    maker = next((p.ref for p in section.parts if p.kind in REGULATING and p.roles["OUT"] == net), None)
    made_by = f', made_by = "{maker}"' if maker else ""
    return f'{net} = {{ volts = "{volts} V", tolerance = "{tolerance}"{made_by} }}'


def _load(part: Part, amps: float, tolerance: float) -> str:
    figures = f'amps = "{amps * 1000:g} mA", tolerance = "{tolerance:g} %"'
    return f'{part.roles["VDD"]} = {{ {figures}, part = "{part.ref}" }}'


def _part(section: Section, part: Part) -> str:
    if part.kind == "coil":
        volts, ohms = part.value.removesuffix("R").split(" V ")
        return f'{part.ref} = {{ volts = "{volts} V", amps = "{1000 * float(volts) / float(ohms):.0f} mA" }}'
    sheet = section.bench.figures.sheets.get(part.value)
    if part.kind in MANY_PINS - REGULATING or sheet:
        told = f'kind = "linear regulator", {sheet}, ' if sheet else ""
        pins = ", ".join(f'"{role}" = "{number}"' for role, number in part.pins.items())
        return f"{part.ref} = {{ {told}pins = {{ {pins} }} }}"
    return ""
