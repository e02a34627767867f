"""Amplifiers across an isolation barrier: two outputs about a voltage of their own follow an input elsewhere."""

from reworkkit import tables
from reworkkit.compute.circuit.bricks import is_joined
from reworkkit.compute.circuit.chips import level
from reworkkit.compute.circuit.figures import around, exact, of_cell
from reworkkit.compute.circuit.parts import unmodelled
from reworkkit.compute.circuit.pin_roles import listed_roles, row_of
from reworkkit.compute.circuit.transistor_cores import inner
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_NEEDED = {"V1", "G1", "V2", "G2", "IN+"}
_MIDDLE_V = 1.25
"""Half of what the inner stages swing over: a scale of ours, not a figure of any part."""
_GAIN_PERCENT, _OFFSET_V, _COMMON_PERCENT, _LOW_SUPPLY_V = 1.0, 2e-3, 4.0, 4.0
_DROPOUT, _LIMIT = Band(0.0, 0.05, 0.2, "V", BandBasis.TABLE), exact(0.01, "A")


def isolated_amplifier(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return an isolated amplifier: out = common + and - gain x (IN+ - IN-) / 2; None for other parts.

    The first stage works from the supply beside the input, the others from that beside the outputs: without the
    first supply the output stands at its negative end, without the second it is dead.
    """
    row = row_of("isolated_amplifiers", part)
    if row is None:
        return None
    pins, told = listed_roles(wiring, part, row)
    if not set(pins) >= _NEEDED or len({pins[role] for role in ("V1", "G1")}) < len(("V1", "G1")):
        return unmodelled(wiring, part)
    wiring.drawing.add(part.ref)
    ref, gain, clip = part.ref, float(row["gain"]), float(row["clip_v"])
    top, zero, first, far, middle, common = (
        f"{ref}.{name}{INNER}" for name in ("top", "zero", "first", "far", "middle", "common")
    )
    minus = pins.get("IN-", pins["G1"])
    shown = (*told, message("circuit-isolated-amplifier", ref=ref, gain=gain))
    sides = [(pins[role], *pair) for role, *pair in (("OUT+", far, middle), ("OUT-", middle, far)) if role in pins]
    return [
        *_own_supply(wiring, part, pins, row["own_v"]),
        _source(ref, pins["V1"], top, pins["G1"], exact(2 * _MIDDLE_V, "V"), row["draw_ma"]),
        _source(ref, pins["V2"], middle, pins["G2"], exact(_MIDDLE_V, "V"), "0 0 0"),
        _source(ref, pins["V2"], common, pins["G2"], _common(wiring, row, pins["V2"]), row["second_draw_ma"]),
        inner(ref, top, zero, 1e4, 0.0),
        inner(ref, zero, pins["G1"], 1e4, 0.0),
        inner(ref, pins["IN+"], minus, float(row["in_ohm"]), 30.0),
        _stage(ref, (top, first, pins["IN+"], minus, pins["G1"], zero), exact(_MIDDLE_V / clip, "1"), _OFFSET_V),
        _stage(ref, (pins["V2"], far, first, pins["G1"], pins["G2"], pins["G2"]), exact(1.0, "1"), 0.0),
        *(
            _stage(
                ref,
                (pins["V2"], out, plus, less, pins["G2"], common),
                around(gain * clip / _MIDDLE_V / 2, _GAIN_PERCENT, "1", BandBasis.TABLE),
                0.0,
                shown,
            )
            for out, plus, less in sides
        ),
    ]


def _common(wiring: Wiring, row: tables.Row, supply: str) -> Band:
    """Return the voltage both outputs stand at without a signal: some types have a lower one at a low supply."""
    low = row["below_4_v"] and 0.0 < level(wiring, supply) < _LOW_SUPPLY_V
    return (
        around(float(row["below_4_v"]), _COMMON_PERCENT, "V", BandBasis.TABLE) if low else of_cell(row["common_v"], "V")
    )


def _own_supply(wiring: Wiring, part: Part, pins: dict[str, str], volts: str) -> list[Element]:
    """Return what feeds the first side across the barrier where the chip does so itself; its other pins stay open."""
    if not volts:
        return []
    figures = {
        "volts": around(float(volts), 5.0, "V", BandBasis.TABLE),
        "follows": exact(0.0, "1/V"),
        "inner": exact(5.0, "ohm"),
        "limit": exact(0.02, "A"),
        "start": exact(2.8, "V"),
        "efficiency": Band(0.3, 0.4, 0.55, "1", BandBasis.TABLE),
    }
    others = sorted({pins[role] for role in ("DIAG", "LDO", "DCDC") if role in pins})
    floats = not is_joined(wiring, part, pins["G1"])
    return [
        Element("isolated", part.ref, (pins["V2"], pins["G2"], pins["V1"], pins["G1"]), figures),
        *(Element("unmodelled", part.ref, (net,), {}) for net in others if net not in (pins["V2"], pins["V1"])),
        *([Element("floating", part.ref, (pins["G1"],), {})] if floats else []),
    ]


def _source(ref: str, high: str, out: str, low: str, volts: Band, draw_ma: str) -> Element:
    """Return what makes a voltage inside from a supply, and with it what that supply draws."""
    figures = {"volts": volts, "dropout": _DROPOUT, "limit": _LIMIT, "quiescent": of_cell(draw_ma, "A", 1e-3)}
    return Element("regulator", ref, (high, out, low, out), figures)


def _stage(ref: str, nodes: tuple[str, ...], gain: Band, offset_v: float, told: tuple[Message, ...] = ()) -> Element:
    figures = {
        "gain": gain,
        "offset": Band(-offset_v, 0.0, offset_v, "V", BandBasis.TABLE),
        "room_high": exact(0.0, "V"),
        "room_low": exact(0.0, "V"),
        "limit": _LIMIT,
    }
    return Element("amplifier", ref, nodes, figures, told)
