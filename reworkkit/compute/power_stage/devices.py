"""The switches of a power stage, and which of them must read alike: half-bridges, parallel devices, like channels."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import NamedTuple

from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band


class Device(NamedTuple):
    """One switch: pin numbers and nets of drain, gate and source, and the forward drop of its body diode."""

    ref: str
    kind: str
    key: str
    drain: str
    gate: str
    source: str
    pins: tuple[str, str, str]
    """Numbers of drain, gate, source."""
    forward: Band | None


class Alike(NamedTuple):
    """Devices whose readings must agree: `bridge_high`, `bridge_low`, `parallel` or `channel`."""

    why: str
    devices: tuple[Device, ...]


def devices_of(board: Board, circuit: Circuit, absent: frozenset[str] = frozenset()) -> tuple[Device, ...]:
    """Return every MOSFET of the circuit whose three pins are known, in natural order.

    A diode beside the body diode shows in its place where it drops less; parts named `absent` are not on the board.
    """
    there = [element for element in circuit.elements if element.ref not in absent]
    elements = [element for element in circuit.elements if element.kind in ("mosfet_n", "mosfet_p")]
    found = [device for element in elements if (device := _device(board, element, there)) is not None]
    return tuple(sorted(found, key=lambda device: natural_key(device.ref)))


def _device(board: Board, element: Element, there: list[Element]) -> Device | None:
    drain, gate, source = element.nodes
    pins = [_number(board, element.ref, net) for net in (drain, gate, source)]
    if None in pins or element.ref not in board.parts:
        return None
    key = board.parts[element.ref].identity.key
    numbers = (str(pins[0]), str(pins[1]), str(pins[2]))
    ends = (source, drain) if element.kind == "mosfet_n" else (drain, source)
    beside = [e.parameters["forward"] for e in there if e.nodes == ends and "forward" in e.parameters]
    bands = [element.parameters["forward"], *beside] if "forward" in element.parameters else []
    return Device(element.ref, element.kind, key, drain, gate, source, numbers, _least(bands))


def _least(bands: list[Band]) -> Band | None:
    """Return what junctions side by side show: the least of their drops."""
    if not bands:
        return None
    low, nominal, high = ([getattr(band, end) for band in bands] for end in ("low", "nominal", "high"))
    known = [value for value in nominal if value is not None]
    lowest, highest = [v for v in low if v is not None], [v for v in high if v is not None]
    return replace(
        bands[0],
        low=min(lowest, default=None),
        nominal=min(known, default=None),
        high=min(highest, default=None),
    )


def _number(board: Board, ref: str, net: str) -> str | None:
    numbers = [n for (of, n), pin in board.pins.items() if of == ref and pin.node == net]
    return min(numbers, key=natural_key, default=None)


def alike(devices: tuple[Device, ...]) -> tuple[Alike, ...]:
    """Return the sets of at least two devices of one type that must read alike; a device stands in one set.

    A half-bridge is two devices that meet in one phase net: the upper one's far end is the bus that other upper ones
    share. Parallel devices share drain and source; like channels share the source net (low side) or the drain net
    (high side) and stand between it and loads of their own.
    """
    legs = _legs(devices)
    in_legs = {device.ref for leg in legs for device in leg}
    found = _sets("bridge_high", (high for high, _ in legs), lambda d: (d.key, _bus(d)))
    found += _sets("bridge_low", (low for _, low in legs), lambda d: (d.key, d.kind))
    rest = [device for device in devices if device.ref not in in_legs]
    parallel = _sets("parallel", rest, lambda d: (d.key, d.drain, d.source))
    taken = {device.ref for one in parallel for device in one.devices}
    rest = [device for device in rest if device.ref not in taken]
    return (*found, *parallel, *_sets("channel", rest, lambda d: (d.key, d.source)))


def _bus(device: Device) -> str:
    return device.drain if device.kind == "mosfet_n" else device.source


def _phase(device: Device) -> str:
    """Return the net an upper switch drives."""
    return device.source if device.kind == "mosfet_n" else device.drain


def _legs(devices: tuple[Device, ...]) -> list[tuple[Device, Device]]:
    """Return the pairs (upper, lower) that meet in a phase net; in parallel legs each with the one of its rank."""
    legs = []
    for phase in dict.fromkeys(_phase(device) for device in devices):
        uppers = [d for d in devices if _phase(d) == phase and _bus(d) != phase]
        lowers = [d for d in devices if d.kind == "mosfet_n" and d.drain == phase and d.source != phase]
        uppers = [upper for upper in uppers if upper not in lowers]
        if lowers and uppers:
            legs += list(zip(uppers, lowers, strict=False))
            legs += [(uppers[0], low) for low in lowers[len(uppers) :]]
            legs += [(high, lowers[0]) for high in uppers[len(lowers) :]]
    return legs


def _sets(why: str, devices: Iterable[Device], key: Callable[[Device], object]) -> list[Alike]:
    groups: dict[object, dict[str, Device]] = {}
    for device in devices:
        groups.setdefault(key(device), {})[device.ref] = device
    return [Alike(why, tuple(group.values())) for group in groups.values() if len(group) > 1]


def gate_parts(board: Board, device: Device) -> tuple[str, ...]:
    """Return the two-lead parts on the gate net of a device."""
    on_net = {ref for ref, _ in board.nets[device.gate].pins} if device.gate in board.nets else set()
    count = {ref: sum(1 for of, _ in board.pins if of == ref) for ref in on_net}
    return tuple(sorted((ref for ref in on_net if ref != device.ref and count[ref] == 2), key=natural_key))
