"""MOSFETs and IGBTs: channel by words and type number, pins by names, table, or the usual order of the outline."""

import re

from reworkkit import tables
from reworkkit.compute.circuit.diodes import roles
from reworkkit.compute.circuit.parts import pins_only
from reworkkit.compute.circuit.pin_roles import row_of
from reworkkit.compute.circuit.wiring import Wiring, number_of, words_of
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis
from reworkkit.tables.transistors import transistor_type

Nodes = tuple[str, str, str]
"""Drain, gate, source."""
_GDS = ("TO-220", "TO-263", "TO-252", "TO-247", "TO-262", "TO-251", "TO-251A", "TO-3P", "TO-264", "TO-126", "TO-225",
        "SOT-223", "SOT-428", "SOT-404", "DPAK", "D2PAK", "IPAK", "I2PAK", "SOT-89")  # fmt: skip
_GSD = (
    "SOT-23",
    "SOT-323",
    "SOT-523",
    "SC-70",
    "SC-75",
    "SC-89",
    "SOT-723",
    "TO-236",
    "SOT-416",
    "SC-59",
    "DFN1006",
    "SUPERSOT-3",
    "SSOT-3",
    "SOT-346",
    "CST3",
)
_SGD_LEADED = re.compile(r"2N700[02]|VN22|VN0|VP0|TN0|TP0", re.I)
_EIGHT = re.compile(r"SO-?8|SOIC-?8|SOP-?8|SO8|PowerPAK|Power-?56|TDSON-?8|DFN-?8|SON-?8|VSON-?8|"
                    r"PQFN|LFPAK|WDFN-?8|MSOP-?8|"
                    r"TSSOP-?8|SuperSO8|TSON-?8|5x6|3x3|QFN-?8", re.I)  # fmt: skip
_SIX = re.compile(r"SOT-?23-?6|TSOT-?23-?6|TSOP-?6|SC-?74|SuperSOT-?6|SSOT-?6|SOT-?457|SOT-?26", re.I)
_DUAL_SIX = re.compile(r"SOT-?363|SC-?88|SC-?70-?6|SOT-?563|US6|UMT6", re.I)
_DUAL = re.compile(r"(?<![a-z])(?:dual|double|zweifach|complementary|pair|2x)(?![a-z])", re.I)


def mosfet(wiring: Wiring, part: Part) -> list[Element]:
    """Return body diode and switched channel of each transistor in the part.

    Which way the channel is comes from words, type number or [parts] kind; else from what the source is on, and that
    is told. Pins: names, else the usual order of type or outline.
    """
    found, told = _pins(wiring, part)
    if not found:
        wiring.ask(
            (part.ref,),
            message("circuit-no-pins"),
            f'[parts] {part.ref} = {{ pins = {{ G = "1", D = "2", S = "3" }} }}',
        )
        return _unknown(wiring, part)
    kinds = _kinds(wiring, part, found)
    if kinds is None:
        answer = f'[parts] {part.ref} = {{ kind = "MOSFET", role = "P-channel" }}'
        wiring.ask((part.ref,), message("circuit-no-channel"), answer)
        return _unknown(wiring, part)
    channels, by_source = kinds
    if by_source:
        told = (*told, message("circuit-channel-by-source", ref=part.ref, channel=channels[0].upper()))
    parameters = _parameters(wiring, part)
    return [
        Element(f"mosfet_{channel}", part.ref, nodes, parameters, told)
        for channel, nodes in zip(channels, found, strict=True)
    ]


def igbt(wiring: Wiring, part: Part) -> list[Element]:
    """Return an IGBT: a channel behind a junction in its way, and the diode that most have beside it."""
    found, told = _pins(wiring, part)
    if len(found) != 1:
        answer = f'[parts] {part.ref} = {{ pins = {{ G = "1", C = "2", E = "3" }} }}'
        wiring.ask((part.ref,), message("circuit-no-pins"), answer)
        return pins_only(wiring, part)
    figures = {name: wiring.default(f"igbt_{name}") for name in ("threshold", "channel", "knee")}
    return [Element("mosfet_n", part.ref, found[0], {**figures, **wiring.drop("body_diode")}, told)]


def _unknown(wiring: Wiring, part: Part) -> list[Element]:
    return pins_only(wiring, part)


def _parameters(wiring: Wiring, part: Part) -> dict[str, Band]:
    """Return threshold and channel by family, else the wide ones of a MOSFET of unknown type, and its body diode."""
    if row := row_of("mosfet_families", part):
        threshold, channel = _band(row, "threshold", "V"), _band(row, "ohm", "ohm")
        return {"threshold": threshold, "channel": channel, **wiring.drop("body_diode")}
    logic = re.search(r"logic[ -]level", words_of(part), re.I)
    threshold = wiring.default("mosfet_logic_threshold" if logic else "mosfet_threshold")
    return {"threshold": threshold, "channel": wiring.default("mosfet_on"), **wiring.drop("body_diode")}


def _band(row: tables.Row, name: str, unit: str) -> Band:
    low, nominal, high = (float(row[f"{name}_{end}"]) for end in ("low", "nominal", "high"))
    return Band(low, nominal, high, unit, BandBasis.TABLE)


def _kinds(wiring: Wiring, part: Part, found: list[Nodes]) -> tuple[tuple[str, ...], bool] | None:
    """Return n or p of each transistor and whether only the source told it; None where that does not tell either."""
    facts = wiring.facts(part.ref)
    said = f"{facts.kind or ''} {facts.role or ''}"
    both = re.search(r"complementary|n[ -]?(?:and|\+|&|/|und)[ -]?p|n/p|p/n", words_of(part), re.I)
    number = number_of(part).upper()
    if len(found) == 2 and (both or _COMPLEMENTARY.match(number)):
        return ("n", "p"), False
    if words := re.search(r"(?<![a-z])([np])[ -]?(?:ch|mos|kanal|fet)", said, re.I):
        return (words[1].lower(),) * len(found), False
    channel = transistor_type(part.identity)
    if channel in ("n", "p"):
        return (channel,) * len(found), False
    by_source = {_by_source(wiring, nodes) for nodes in found}
    only = by_source.pop() if len(by_source) == 1 else None
    return ((only,) * len(found), True) if only else None


_COMPLEMENTARY = re.compile(r"AO46\d\d|FDS89\d\d|SI45\d\d|IRF7309|IRF7389|IRF7317|IRF7343|IRF9952|DMC|FDC6333|SI5513|"
                            r"NTJD4105|"
                            r"BSS8402|DMG1016|FDG6332|NTHC|SP8M|TSM4925|STS\d+C\d", re.I)  # fmt: skip


def _by_source(wiring: Wiring, nodes: Nodes) -> str | None:
    """Return n where the source is on ground, p where it is on a positive rail and the drain is on none."""
    drain, _, source = nodes
    if source == wiring.ground:
        return "n"
    return "p" if wiring.is_positive_rail(source) and not wiring.is_positive_rail(drain) else None


def _pins(wiring: Wiring, part: Part) -> tuple[list[Nodes], tuple[Message, ...]]:
    if named := _by_names(wiring, part):
        return named, ()
    pins = wiring.pins(part.ref)
    outline = part.identity.outline
    orders = _orders(part, outline.upper().strip(), len(pins))
    found = []
    for order in orders:
        nodes = tuple(_first(wiring, part, numbers) for numbers in order)
        if None not in nodes:
            found.append(nodes)
    if len(found) != len(orders) and not (len(orders) == 2 and found):
        return [], ()
    pins_told = " / ".join(" ".join("".join(n[:1]) for n in order) for order in orders)
    told = message("circuit-role-by-outline", ref=part.ref, order="D G S", pins=pins_told)
    return [(str(d), str(g), str(s)) for d, g, s in found], (told,) if found else ()


def _first(wiring: Wiring, part: Part, numbers: tuple[str, ...]) -> str | None:
    return next((node for number in numbers if (node := wiring.number(part, number))), None)


Order = tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]


_ONE_DRAIN: dict[str, list[Order]] = {
    "6": [(("2", "5"), ("6",), ("1",)), (("2", "5"), ("4",), ("3",))],
    "8": [(("1", "8"), ("4",), ("2", "3")), (("1", "8"), ("5",), ("6", "7"))],
}
"""The pair with one drain that guards a cell, in six and eight leads."""


def _orders(part: Part, outline: str, count: int) -> list[Order]:
    """Return the pin numbers (drain, gate, source) of each transistor by type and outline; several numbers: one net."""
    if count > 3 and (many := _of_many_leads(part, outline)) is not None:
        return many
    if not 2 <= count <= 4:
        return []
    number = number_of(part)
    if not outline:
        outline = next((usual for pattern, usual in _USUAL_OUTLINES if pattern.match(number)), "")
    if outline.startswith("TO-92"):
        if re.match(r"BS170|ZVN|ZVP", number, re.I):
            return [(("1",), ("2",), ("3",))]
        return [(("3",), ("2",), ("1",))] if _SGD_LEADED.match(number) else []
    if outline.startswith(_GDS) or (part.identity.kind == "igbt" and not part.identity.named_outline):
        return [(("2", "4"), ("1",), ("3",))]
    if re.match(r"IRFD|IRLD", number, re.I):
        return [(("3", "4"), ("1",), ("2",))]
    return [(("3",), ("1",), ("2",))] if outline.startswith(_GSD) and count == 3 else []


_USUAL_OUTLINES = (
    (re.compile(r"IRF(?:[1-9]\d\d|Z\d\d|B\d|P\d|\d{4})|IRL(?:Z|B|[1-9]\d\d)|IRL?[FR]?[RU]\d|ST[PBDFW]\d|FQ[PAD]|BUZ|BUK|"
                r"IP[PBDW]|SPP|RFP|MTP|HUF|FD[PB]|NTD|NDP|IXF|2SK|2SJ|NDT|AOD|SUD", re.I), "TO-220"),
    (re.compile(r"2N7002|BSS|AO34|SI23|IRLML|DMG\d|NTR|PMV|FDN|FDV|TSM23|CJ\d|SSM3|AO23", re.I), "SOT-23"),
    (re.compile(r"2N7000|BS170|ZV[NP]|VN22", re.I), "TO-92"),
)  # fmt: skip
"""The outline that a type comes in where the list has none: all of a row number their leads alike."""


def _of_many_leads(part: Part, outline: str) -> list[Order] | None:
    """Return the orders of six and eight leads; empty where only the maker knows, None for other outlines."""
    if re.match(r"(?:FS|HX|GW)?8205", number_of(part), re.I):
        return _ONE_DRAIN["6" if _SIX.search(outline) else "8"]
    if _EIGHT.search(outline):
        if _is_dual(part):
            return [(("7", "8"), ("2",), ("1",)), (("5", "6"), ("4",), ("3",))]
        return [(("5", "6", "7", "8", "9"), ("4",), ("1", "2", "3"))]
    if _DUAL_SIX.search(outline):
        return [(("6",), ("2",), ("1",)), (("3",), ("5",), ("4",))]
    if _SIX.search(outline):
        return [] if _is_dual(part) else [(("1", "2", "5", "6"), ("3",), ("4",))]
    return None


_DUAL_NUMBERS = re.compile(r"IRF71\d\d|IRF73\d\d|IRF89\d\d|IRF99\d\d|SI49\d\d|SI48\d\dD|AO48\d\d|AO46\d\d|FDS89\d\d|"
                           r"FDS69\d\d|"
                           r"FDS49\d\d|DMN\d+\w*SSD|STS\d+DN|NTMD|TSM4936|IRF7750|SI4532|ZXM[NPCHD]\w*D8|"
                           r"DMC|SP8|BUK9K|BUK7K|PHKD|NDS89|NDS99|AP4\d\d\dGM", re.I)  # fmt: skip


def _is_dual(part: Part) -> bool:
    return bool(_DUAL.search(words_of(part)) or _DUAL_NUMBERS.match(number_of(part)))


_NAMES = {"D": "D", "DRAIN": "D", "G": "G", "GATE": "G", "S": "S", "SOURCE": "S", "TAB": "D", "DRN": "D", "SRC": "S",
          "C": "D", "COLLECTOR": "D", "E": "S", "EMITTER": "S"}  # fmt: skip


def _by_names(wiring: Wiring, part: Part) -> list[Nodes]:
    """Return the transistors by names: G D S, or S1 G1 D1 S2 G2 D2, also 1G 1D."""
    units: dict[str, dict[str, str]] = {}
    for name, pins in roles(wiring, part).items():
        digit, letters = re.sub(r"\D", "", name), re.sub(r"[\d_/-]", "", name)
        role = _NAMES.get(letters)
        if role:
            units.setdefault(digit, {}).setdefault(role, wiring.node(pins[0]))
    whole = [(unit["D"], unit["G"], unit["S"]) for _, unit in sorted(units.items()) if {"D", "G", "S"} <= set(unit)]
    if whole:
        return whole
    merged: dict[str, set[str]] = {}
    for unit in units.values():
        for role, node in unit.items():
            merged.setdefault(role, set()).add(node)
    if all(len(merged.get(role, ())) == 1 for role in "DGS"):
        return [(merged["D"].pop(), merged["G"].pop(), merged["S"].pop())]
    return []
