"""Voltage regulators: figures from board.toml, else from the table of common types; pins by name, table or nets."""

import re
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.circuit.figures import around, stated
from reworkkit.compute.circuit.nets import ground_nets
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.errors import ReworkkitError
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, Severity

_TWO_DIGITS = {"33": 3.3, "25": 2.5, "18": 1.8, "12": 1.2, "15": 1.5, "28": 2.8, "30": 3.0, "27": 2.7, "36": 3.6}
_SHORT_FAMILIES = re.compile(r"MCP170|XC62|HT73|TLV70|RT9|ME62|LF", re.IGNORECASE)


class _Pins(NamedTuple):
    """The nodes of a regulator's roles; None where it has no such pin."""

    nodes: dict[str, str]
    told: tuple[Message, ...]


def regulator(wiring: Wiring, part: Part) -> list[Element]:
    """Return a regulator, or the question that its figures or pins leave open."""
    row = _row(part, wiring.board.own_tables)
    switching = part.identity.kind == "switching_regulator"
    pins = _pins(wiring, part, row)
    if pins is None:
        _judge_missing_ground(wiring, part, row)
        roles = 'IN = "1", SW = "2", GND = "3", FB = "4"' if switching else 'IN = "1", GND = "2", OUT = "3"'
        answer = f"[parts] {part.ref} = {{ pins = {{ {roles} }} }}"
        wiring.ask((part.ref,), message("circuit-regulator-pins"), answer)
        return [Element("unmodelled", part.ref, tuple(wiring.node(pin) for pin in wiring.pins(part.ref)), {})]
    _judge_ground(wiring, part, pins)
    element = _switching(wiring, part, row, pins) if switching else _linear(wiring, part, row, pins)
    if element and element.kind == "regulator":
        _judge_direction(wiring, part, element)
    return [element] if element else unmodelled(wiring, part)


def _row(part: Part, own: tables.OwnTables) -> tables.Row | None:
    """Return the row of the part's type; the board's own rows are tried first."""
    number = (part.identity.part_number or part.identity.value.text).strip()
    value = part.identity.value.text.strip()
    known = tables.rows_with("regulators", own)
    mine_first = sorted(known, key=lambda row: row["source"] != "yours")
    for text in (number, value):
        for row in mine_first:
            if _matches(row["pattern"], text):
                return dict.fromkeys(known[0], "") | row
    return None


def _matches(pattern: str, text: str) -> bool:
    try:
        return re.match(pattern, text, re.IGNORECASE) is not None
    except re.error as error:
        raise ReworkkitError("table-bad-pattern", table="regulators", pattern=pattern, problem=str(error)) from error


def _number(row: tables.Row | None, column: str) -> float | None:
    """Return a figure of the row, None where it has none; ReworkkitError where it is no number."""
    written = row[column] if row else ""
    try:
        return float(written) if written else None
    except ValueError as error:
        raise ReworkkitError("table-not-a-number", table="regulators", column=column, written=written) from error


def _pins(wiring: Wiring, part: Part, row: tables.Row | None) -> _Pins | None:
    """Return the roles: by name, by the table's order for this outline, or by what the nets are."""
    named = {
        role: node for role in ("IN", "OUT", "GND", "ADJ", "SW", "FB", "EN") if (node := wiring.by_role(part, role))
    }
    if _complete(named):
        return _Pins(named, ())
    package = part.identity.package.name if part.identity.package else part.identity.package_text
    for entry in row["pins"].split("|") if row and row["pins"] else ():
        outline, _, order = entry.partition("=")
        if package.startswith(outline) and len(wiring.pins(part.ref)) <= len(order.split()) + 1:
            found = {role: node for n, role in enumerate(order.split(), 1) if (node := wiring.number(part, str(n)))}
            if _complete(found):
                return _Pins(found | named, (message("circuit-role-by-table", ref=part.ref, order=order),))
    return _pins_by_nets(wiring, part, row)


def _complete(roles: dict[str, str]) -> bool:
    return "IN" in roles and ("GND" in roles or "ADJ" in roles) and bool({"OUT", "SW"} & set(roles))


def _pins_by_nets(wiring: Wiring, part: Part, row: tables.Row | None) -> _Pins | None:
    """Return the roles of a linear regulator whose nets leave no doubt: ground, its own rail, one other.

    Its own rail is the one that board.toml says it makes, else the only one whose voltage is that of its type number.
    """
    nets = wiring.nets_of(part.ref)
    made = [net for net, rail in wiring.board.facts.rails.items() if rail.made_by == part.ref and net in nets]
    made = made or _rails_of_its_volts(wiring, part, row)
    others = [net for net in nets if net != wiring.ground and net not in made]
    others = [net for net in others if wiring.is_rail(net)] if len(others) > 1 else others
    if part.identity.kind != "linear_regulator" and len(nets) != len(("in", "out", "ground")):
        return None
    if wiring.ground not in nets or len(made) != 1 or len(others) != 1:
        return None
    nodes = {"IN": others[0], "OUT": made[0], "GND": wiring.ground}
    return _Pins(nodes, (message("circuit-role-by-nets", ref=part.ref),))


def _rails_of_its_volts(wiring: Wiring, part: Part, row: tables.Row | None) -> list[str]:
    volts = _number(row, "volts") or (_volts_in_number(part, row) if row else None)
    if volts is None or row is None or row["form"] == "adjustable" or part.identity.kind != "linear_regulator":
        return []
    near = (net for net in wiring.nets_of(part.ref) if wiring.is_rail(net))
    return [net for net in near if abs(abs(wiring.rails[net][0].nominal or 0.0) - volts) <= 0.05 * volts]


def _judge_ground(wiring: Wiring, part: Part, pins: _Pins) -> None:
    """Report a regulator whose ground pin is on no net, or on one that leads nowhere: an open or wrong land."""
    ground = pins.nodes.get("GND")
    net = wiring.board.nets.get(ground or "")
    alone = net is not None and all(ref == part.ref for ref, _ in net.pins) and ground not in ground_nets(wiring.board)
    if ground and ("." in ground or alone):
        told = message("circuit-regulator-ground-open", ref=part.ref, pin=ground)
        wiring.findings.append(Finding(told, Severity.STOP, (part.ref,)))


def _judge_missing_ground(wiring: Wiring, part: Part, row: tables.Row | None) -> None:
    """Report a fixed linear regulator that has no pin on ground at all; where its type is not known, to be checked."""
    grounds = {wiring.ground, *ground_nets(wiring.board)}
    if part.identity.kind != "linear_regulator" or grounds & set(wiring.nets_of(part.ref)):
        return
    if row is not None and (row["form"] == "adjustable" or _number(row, "volts") is not None):
        return
    severity = Severity.CHECK if row is None else Severity.STOP
    wiring.findings.append(Finding(message("circuit-regulator-no-ground", ref=part.ref), severity, (part.ref,)))


def _judge_direction(wiring: Wiring, part: Part, element: Element) -> None:
    """Report a linear regulator that stands backwards: its output on a rail further from ground than its input.

    Where the output is on no rail, an input on a rail of the regulator's own voltage tells it too.
    """
    inside, out, common, _ = element.nodes
    held = abs(element.parameters["volts"].nominal or 0.0)
    at_in, at_out = (abs(wiring.rails[net][0].nominal or 0.0) if net in wiring.rails else None for net in (inside, out))
    fixed = common == wiring.ground and held > 0
    further = at_in is not None and at_out is not None and at_out > 1.05 * at_in
    own_at_input = fixed and at_out is None and at_in is not None and abs(at_in - held) <= 0.05 * held
    if further or own_at_input:
        told = message("circuit-regulator-backwards", ref=part.ref, inside=inside, out=out)
        wiring.findings.append(Finding(told, Severity.STOP, (part.ref,)))


def _volts(wiring: Wiring, part: Part, row: tables.Row | None) -> tuple[Band, tuple[Message, ...]] | None:
    """Return what the regulator holds: board.toml, the number in its type, the rail it makes; in this order."""
    by_table = _number(row, "tolerance_percent")
    percent = wiring.figure("regulator_tolerance") if by_table is None else by_table
    told = () if by_table is not None else (wiring.assumed("regulator_tolerance", part.ref),)
    if out := stated(wiring.facts(part.ref).out, percent):
        return out, told
    held = _number(row, "volts") or (_volts_in_number(part, row) if row else None)
    if row and held:
        return around(-held if row["form"] == "negative" else held, percent, "V", BandBasis.TABLE), ()
    rails = [net for net, rail in wiring.board.facts.rails.items() if rail.made_by == part.ref]
    if rails:
        return wiring.rails[rails[0]][0], (*told, message("circuit-volts-by-rail", ref=part.ref, net=rails[0]))
    return None


def _volts_in_number(part: Part, row: tables.Row) -> float | None:
    for text in (part.identity.part_number, part.identity.value.text):
        found = re.search(row["suffix"], text, re.IGNORECASE) if row["suffix"] else None
        if found:
            digits = found[1]
            if _SHORT_FAMILIES.match(text):
                return float(f"{digits[0]}.{digits[1]}")
            return 3.3 if digits == "33" else float(digits)
    return None


def _common_figures(
    wiring: Wiring, part: Part, row: tables.Row | None, prefix: str
) -> tuple[dict[str, Band], list[Message]]:
    facts, told = wiring.facts(part.ref), []
    dropout = stated(facts.dropout, 20)
    if dropout is None and (usual := _number(row, "dropout_v")) is not None:
        most = _number(row, "dropout_high_v")
        dropout = Band(min(0.1, usual), usual, 1.2 * usual if most is None else most, "V", BandBasis.TABLE)
    limit = (
        Band(
            float(facts.amps.value), 1.5 * float(facts.amps.value), 2.5 * float(facts.amps.value), "A", BandBasis.STATED
        )
        if facts.amps
        else None
    )
    if limit is None and (at := _number(row, "limit_a")) is not None:
        limit = around(at, 40, "A", BandBasis.TABLE)
    quiescent = stated(facts.quiescent, 50)
    if quiescent is None and (nominal := _number(row, "quiescent_a")) is not None:
        high = _number(row, "quiescent_high_a")
        quiescent = Band(nominal / 2, nominal, 2 * nominal if high is None else high, "A", BandBasis.TABLE)
    found = {"dropout": dropout, "limit": limit, "quiescent": quiescent}
    keys = {"dropout": "regulator_dropout", "limit": "regulator_limit", "quiescent": f"{prefix}_quiescent"}
    figures = {}
    for name, band in found.items():
        figures[name] = band or wiring.default(keys[name])
        if band is None:
            told.append(wiring.assumed(keys[name], part.ref))
    return figures, told


def _linear(wiring: Wiring, part: Part, row: tables.Row | None, pins: _Pins) -> Element | None:
    volts = _volts(wiring, part, row)
    if volts is None:
        wiring.ask((part.ref,), message("circuit-regulator-volts"), f'[parts] {part.ref} = {{ out = "3.3 V" }}')
        return None
    figures, told = _common_figures(wiring, part, row, "regulator")
    common = pins.nodes.get("ADJ") or pins.nodes["GND"]
    nodes = (pins.nodes["IN"], pins.nodes["OUT"], common, pins.nodes["OUT"])
    return Element("regulator", part.ref, nodes, {"volts": volts[0], **figures}, (*pins.told, *volts[1], *told))


def _switching(wiring: Wiring, part: Part, row: tables.Row | None, pins: _Pins) -> Element | None:
    volts = _volts(wiring, part, row)
    if volts is None:
        wiring.ask((part.ref,), message("circuit-regulator-volts"), f'[parts] {part.ref} = {{ out = "5 V" }}')
        return None
    figures, told = _common_figures(wiring, part, row, "converter")
    efficiency = wiring.default("converter_efficiency")
    if (share := _number(row, "efficiency")) is not None:
        efficiency = Band(share - 0.1, share, min(share + 0.12, 0.97), "1", BandBasis.TABLE)
    start = wiring.default("converter_start")
    if (at := _number(row, "start_v")) is not None:
        start = around(at, 20, "V", BandBasis.TABLE)
    told += [] if at is not None else [wiring.assumed("converter_start", part.ref)]
    switch = pins.nodes.get("SW") or pins.nodes["OUT"]
    boost_out = _boost_output(wiring, part, switch, pins.nodes["IN"])
    out = boost_out or switch
    sense = pins.nodes.get("FB") or _output_rail(wiring, part, out)
    parameters = {"volts": volts[0], **figures, "start": start, "efficiency": efficiency}
    nodes = (pins.nodes["IN"], out, pins.nodes.get("GND") or wiring.ground, sense)
    kind = "boost" if boost_out else "converter"
    if boost_out:
        parameters.pop("dropout")
    return Element(kind, part.ref, nodes, parameters, (*pins.told, *volts[1], *told))


def _output_rail(wiring: Wiring, part: Part, out: str) -> str:
    rails = [net for net, rail in wiring.board.facts.rails.items() if rail.made_by == part.ref]
    return rails[0] if rails else out


def _boost_output(wiring: Wiring, part: Part, switch: str, supply: str) -> str | None:
    """Return the output of a step-up converter: its coil goes from the input to the switch, its diode from there on."""
    if switch not in wiring.board.nets:
        return None
    refs = {ref for ref, _ in wiring.board.nets[switch].pins} - {part.ref}
    coils = [r for r in refs if r in wiring.board.parts and wiring.board.parts[r].identity.kind == "inductor"]
    if not any(supply in wiring.nets_of(coil) for coil in coils):
        return None
    for ref in sorted(refs):
        if ref in wiring.board.parts and wiring.board.parts[ref].identity.kind.startswith("diode"):
            ends = [net for net in wiring.nets_of(ref) if net != switch and net != wiring.ground]
            if ends:
                return ends[0]
    return None
