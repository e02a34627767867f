"""Isolated converters: what they make stands between pins of their own, wherever those are joined to."""

import re
from collections.abc import Iterable
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.circuit.figures import around, exact
from reworkkit.compute.circuit.own_draw import own_draw
from reworkkit.compute.circuit.parts import pins_only
from reworkkit.compute.circuit.pin_roles import numbers, row_of
from reworkkit.compute.circuit.wiring import EXTERNAL, Wiring, words_of
from reworkkit.compute.formulas.closure import closure
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, Fit

_LISTED = {"10": 3.3, "09": 9.0, "11": 5.0, "12": 12.0, "13": 15.0, "15": 24.0, "21": 5.0, "22": 12.0, "23": 15.0}
"""What the second figures of numbers such as 1211 stand for; 21 to 23 are two outputs (makers' lists, from memory)."""
_MAINS_V = 120.0
"""From less than half of it modules for the mains start, also from as much direct current; from memory."""
_TWO = frozenset(("21", "22", "23"))
_NAMES = {
    "+I": frozenset(("+VIN", "VIN", "VIN+", "+IN", "IN+", "VI", "+VI", "VI+", "VCC", "IN", "+V_IN", "V+IN")),
    "-I": frozenset(("-VIN", "VIN-", "-IN", "IN-", "GND", "GNDIN", "GND_IN", "-VI", "VI-", "INGND", "GND1", "GNDI")),
    "+O": frozenset(("+VOUT", "VOUT", "VOUT+", "+OUT", "OUT+", "+VO", "VO+", "VO", "OUT", "+VO1")),
    "-O": frozenset(
        ("-VOUT", "VOUT-", "-OUT", "OUT-", "-VO", "VO-", "0V", "GND2", "GNDOUT", "GND_OUT", "GNDO", "0VOUT")
    ),
    "COM": frozenset(("COM", "COMMON", "0VCOM", "CT")),
}
_ISOLATING = frozenset(("optocoupler", "relay", "transformer", "isolator", "test_point"))
_LIGHT_RISE = 0.12
"""How far an output that goes with its input rises from full load to none; 5 to 20 %, from memory."""
_MOST_SHARE = Band(1.0, 1.5, 2.5, "1", BandBasis.TABLE)
_IDLE_SHARE = (0.04, 0.1, 0.25)
"""Own current with nothing at the output, as a share of that at full load; from memory."""
_WATTS = re.compile(r"(?<![\d.])(\d+(?:\.\d+)?)\s?W(?![a-z])", re.IGNORECASE)


class _Figures(NamedTuple):
    inside: float
    out: float
    two: bool
    row: tables.Row
    below: float = 0.0
    """What the output below the common pin makes, where that differs."""


def brick(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return an isolated converter whose number tells its volts; None for other parts.

    Pins by names, else by the usual numbers of its family; else, or where a type of two outputs has no common pin and
    no rail of its volts, it is a question. Its outputs stand between their own pins: where nothing joins those to
    ground they float, which is told.
    """
    figures = _figures(wiring, part)
    if figures is None:
        return None
    pins, told = _pins(wiring, part, figures)
    lone = figures.two and "COM" not in pins and not _is_rail_of(wiring, pins.get("+O"), figures.out)
    if lone or not {"+I", "-I", "+O"} <= set(pins) or not {"-O", "COM"} & set(pins):
        roles = '"+VIN" = "2", "-VIN" = "1", "+VOUT" = "4", "-VOUT" = "3"'
        wiring.ask((part.ref,), message("circuit-no-pins"), f"[parts] {part.ref} = {{ pins = {{ {roles} }} }}")
        return pins_only(wiring, part)
    two = "COM" in pins and "-O" in pins
    pairs = [(pins["+O"], pins.get("COM") or pins["-O"])] + ([(pins["COM"], pins["-O"])] if two else [])
    said = (*told, message("circuit-brick", ref=part.ref, inside=figures.inside, out=figures.out))
    if figures.row["form"] == "plain":
        said = (*said, message("circuit-brick-follows", ref=part.ref))
    common, floats = pairs[0][1], _floats(wiring, part, pins)
    if floats:
        said = (*said, message("circuit-brick-floats", ref=part.ref, out=pairs[0][0], net=common))
    watts = _watts(part, figures.row) / len(pairs)
    made = [
        Element("isolated", part.ref, (pins["+I"], pins["-I"], *pair), _parameters(one, watts), said)
        for one, pair in zip((figures, figures._replace(out=figures.below or figures.out)), pairs, strict=False)
    ]
    return [*made, *_idle(wiring, part, pins, figures, watts * len(pairs)), *_floating(part, common, floats)]


def _floating(part: Part, common: str, floats: bool) -> Iterable[Element]:
    return [Element("floating", part.ref, (common,), {})] if floats else []


def _figures(wiring: Wiring, part: Part) -> _Figures | None:
    return _numbered(part) or _said(wiring, part)


def _said(wiring: Wiring, part: Part) -> _Figures | None:
    """Return the volts of an isolated converter of unknown number: `out` of board.toml, else "24 V to 20 V"."""
    facts, words = wiring.facts(part.ref), f"{words_of(part)} {wiring.facts(part.ref).kind or ''}"
    if not _ISOLATED.search(words) or part.identity.kind in _ISOLATING:
        return None
    written = _TO.search(words)
    out = float(facts.out.value) if facts.out else float(written[3].replace(",", ".")) if written else 0.0
    rails = [wiring.rails[net][0].nominal or 0.0 for net in wiring.nets_of(part.ref) if wiring.is_positive_rail(net)]
    inside = float(written[1].replace(",", ".")) if written else max((v for v in rails if v != out), default=2 * out)
    return _Figures(inside, out, bool(written and written[2]), _SAID_ROW) if out > 0 and inside > 0 else None


_ISOLATED = re.compile(r"isolated,? (?:dc|conv|supply|brick|module|power|gate)|dc[-/]?dc[ ,]+isolated", re.I)
_TO = re.compile(r"(\d+(?:[.,]\d+)?) ?V?(?:DC)? ?(?:to|->|→|auf|/) ?(\+/?-|±)? ?(\d+(?:[.,]\d+)?) ?V", re.I)
_SAID_ROW = {"form": "regulated", "outputs": "1", "watts": "1", "efficiency": "0.8", "pins": ""}
"""What is taken of a converter that only words describe: a watt, and pins by their names."""


def _numbered(part: Part) -> _Figures | None:
    for row in tables.rows("bricks"):
        for number in numbers(part):
            if not re.match(row["pattern"], number):
                continue
            if row["code"] == "told":
                told = [float(word) for word in row["volts"].split()]
                return _Figures(told[0], told[1], True, row, told[2])
            if not (found := re.search(row["volts"], number)):
                continue
            if row["code"] == "gate":
                return _Figures(float(found[1]), float(found[2]), True, row, float(found[3]) or 8.7)
            mains, code = row["code"] == "mains", found[found.re.groups]
            inside = _MAINS_V if mains else _volts(found[1])
            out = _LISTED.get(code) if row["code"] == "listed" else _volts("05" if mains and code == "01" else code)
            if inside and out:
                return _Figures(inside, out, row["outputs"] == "2" or code in _TWO, row)
    return None


def _volts(code: str) -> float | None:
    """Return the volts of two figures, None where a converter has no such voltage.

    >>> [_volts(code) for code in ("05", "03", "3R3", "24", "77")]
    [5.0, 3.3, 3.3, 24.0, None]
    """
    if code in ("3", "03", "33", "033", "3R3"):
        return 3.3
    volts = float(code) if code.isdigit() else 0.0
    return volts if volts in (5.0, 7.0, 9.0, 10.0, 12.0, 15.0, 18.0, 20.0, 24.0, 36.0, 48.0) else None


def _watts(part: Part, row: tables.Row) -> float:
    found = _WATTS.search(words_of(part).replace("-", " "))
    return float(found[1]) if found else float(row["watts"])


def _pins(wiring: Wiring, part: Part, figures: _Figures) -> tuple[dict[str, str], tuple[Message, ...]]:
    stated = {number: name for name, number in wiring.facts(part.ref).pins.items()}
    called = [
        (re.sub(r"[\s()]", "", stated.get(pin.number) or pin.name or pin.number).upper(), pin.net)
        for pin in wiring.pins(part.ref)
    ]
    below = {name for name, _ in called} & (_NAMES["-O"] - {"0V"})
    named: dict[str, str] = {}
    for name, net in called:
        for role, names in _NAMES.items():
            if name in names and net:
                named.setdefault("COM" if name == "0V" and below else role, net)
    if {"+I", "-I", "+O"} <= set(named):
        return named, ()
    used = {pin.number for pin in wiring.pins(part.ref) if pin.net}
    orders = sorted(filter(None, figures.row["pins"].split("|")), key=lambda order: ("COM" in order) != figures.two)
    for order in orders:
        roles = dict(pair.split("=") for pair in order.split())
        if used <= set(roles):
            found = {role: node for number, role in roles.items() if (node := wiring.number(part, number))}
            if _is_against_nets(wiring, found):
                continue
            return found, (message("circuit-role-by-type", ref=part.ref),)
    return named, ()


def _is_rail_of(wiring: Wiring, net: str | None, volts: float) -> bool:
    """Return whether a net is a rail of these volts: two outputs by the number, but used as one."""
    return net in wiring.rails and abs((wiring.rails[net][0].nominal or 0.0) - volts) < 0.15 * volts


def _is_against_nets(wiring: Wiring, pins: dict[str, str]) -> bool:
    """Return whether an order puts the positive input on ground, or its return on a positive rail."""
    return pins.get("+I") == wiring.ground or wiring.is_positive_rail(pins.get("-I", ""))


def _parameters(figures: _Figures, watts: float) -> dict[str, Band]:
    """Return the figures of one output: an unregulated one is higher at light load, by what its resistance drops."""
    out, plain = figures.out, figures.row["form"] == "plain"
    full = watts / out
    ohm = _LIGHT_RISE * out / full if plain else 0.005 * out / full
    start, share = 0.45 * figures.inside, float(figures.row["efficiency"])
    return {
        "volts": around((1 + _LIGHT_RISE) * out if plain else out, 9.0 if plain else 2.0, "V", BandBasis.TABLE),
        "follows": exact(1 / figures.inside if plain else 0.0, "1/V"),
        "inner": around(ohm, 60, "ohm", BandBasis.TABLE),
        "limit": Band(
            full, (_MOST_SHARE.nominal or 1.0) * full, (_MOST_SHARE.high or 1.0) * full, "A", BandBasis.TABLE
        ),
        "start": around(start, 30, "V", BandBasis.TABLE),
        "efficiency": Band(share - 0.12, share, min(share + 0.1, 0.93), "1", BandBasis.TABLE),
    }


def _idle(wiring: Wiring, part: Part, pins: dict[str, str], figures: _Figures, watts: float) -> list[Element]:
    least, usual, most = (share * watts / figures.inside for share in _IDLE_SHARE)
    return own_draw(wiring, part.ref, pins["+I"], pins["-I"], Band(least, usual, most, "A", BandBasis.TABLE))


def is_joined(wiring: Wiring, part: Part, net: str) -> bool:
    """Return whether parts that carry direct current join a net to ground, this converter and its like aside."""

    def onward(near: set[str]) -> set[str]:
        others = (other for here in near - {wiring.ground} for other in wiring.parts_on(here, part.ref))
        return {one for other in others if _carries(wiring, other) for one in wiring.nets_of(other.ref)}

    return wiring.ground in closure({net}, onward)


def _floats(wiring: Wiring, part: Part, pins: dict[str, str]) -> bool:
    """Return whether nothing ties an isolated output to ground: neither of its ends is there, nor joined to it."""
    common = pins.get("COM") or pins.get("-O")
    return bool(common) and is_apart(wiring, part, pins.get("+O"), str(common))


def is_apart(wiring: Wiring, part: Part, high: str | None, common: str) -> bool:
    """Return whether nothing ties an isolated supply of a part to ground."""
    return high != wiring.ground and not is_joined(wiring, part, common)


def _carries(wiring: Wiring, part: Part) -> bool:
    kind = part.identity.kind
    apart = kind in EXTERNAL or kind in _ISOLATING or kind.startswith("capacitor") or _has_barrier(part)
    return part.fit is Fit.FIT and not apart and _figures(wiring, part) is None


def _has_barrier(part: Part) -> bool:
    """Return whether the type of a chip is that of an isolator, or of a driver or amplifier with two sides."""
    if part.identity.kind not in ("ic", "unknown"):
        return False
    row = row_of("signal_drivers", part)
    return (row is not None and row["supplies"].startswith("V1/G1")) or row_of("isolated_amplifiers", part) is not None


def own_grounds(wiring: Wiring) -> frozenset[str]:
    """Return the nets that isolated converters return to and nothing joins to ground, whatever they are called."""
    found = set()
    for part in wiring.board.parts.values():
        figures = _figures(wiring, part)
        if figures is not None and wiring.pins(part.ref):
            pins, _ = _pins(wiring, part, figures)
            if _floats(wiring, part, pins):
                found.add(pins.get("COM") or pins["-O"])
    return frozenset(found)
