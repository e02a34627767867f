"""The board by its connections: which pins are on a net, what is on the other end of a part."""

from collections.abc import Iterator
from functools import cached_property
from itertools import combinations

from reworkkit.model.board import Board
from reworkkit.model.designator import class_letters, natural_key
from reworkkit.model.facts import PartFacts
from reworkkit.model.netlist import Pin
from reworkkit.model.vocabulary import Fit

GENERAL_DIODES = frozenset({"diode", "diode_schottky"})
BREAKDOWN = frozenset({"diode_zener", "tvs_one_way", "tvs", "voltage_reference"})
JUNCTIONS = GENERAL_DIODES | BREAKDOWN | {"led", "photodiode"}
TRANSISTORS = frozenset({"transistor", "transistor_bipolar", "mosfet", "igbt"})
LINKS = frozenset(
    [
        "inductor",
        "ferrite_bead",
        "fuse",
        "resettable_fuse",
        "jumper",
        "net_tie",
        "solder_jumper",
        "fuse_holder",
        "common_mode_choke",
    ]
)
WINDINGS = frozenset({"relay", "inductor", "motor", "speaker", "transformer", "buzzer"})
OUTSIDE = frozenset(["connector", "terminal", "battery", "battery_holder"])
CHIPS = frozenset(
    [
        "ic",
        "opamp",
        "microcontroller",
        "magnetic_current_sensor",
        "magnetic_sensor",
        "temperature_sensor",
        "sensor",
        "oscillator",
        "module",
        "display",
        "microphone",
        "switching_regulator",
        "linear_regulator",
    ]
)
QUIET = frozenset(
    [
        "varistor",
        "tvs_two_way",
        "crystal",
        "resonator",
        "test_point",
        "antenna",
        "fiducial",
        "mounting_hole",
        "logo",
        "heat_sink",
        "hardware",
    ]
)
"""Kinds that neither pass nor hold anything in normal work."""
NO_DIRECT_CURRENT = QUIET | {
    "capacitor",
    "capacitor_ceramic",
    "capacitor_film",
    "capacitor_safety",
    "capacitor_tantalum",
    "capacitor_polymer_tantalum",
    "capacitor_polymer_aluminium",
    "capacitor_aluminium_electrolytic",
    "supercapacitor",
}
_COIL_PINS = frozenset({"A1", "A2", "COIL+", "COIL-", "COIL1", "COIL2", "COIL_A", "COIL_B"})
_MOST_BRIDGE_PINS = 5
"""A "bridge" of more pins joins two interfaces and rectifies nothing."""
_PLUGS = frozenset({"J", "X", "CN", "CON", "P", "TB"})
_PLUGGED = frozenset({"motor", "speaker", "lamp", "buzzer", "relay", "switch"})
"""A place called J is a connector, whatever the load its description names."""
_BARE = frozenset({"TP", "FID", "FD", "MH", "LOGO"})
_STAND_INS = frozenset({"net_tie", "test_point", "solder_jumper"})


class Connections:
    """A board seen by its nets. Places that are not fitted connect nothing."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self.roles: dict[str, dict[str, str]] = {}
        """Pin roles by part, kept by whoever works them out."""
        self.types: dict[str, dict[str, str] | None] = {}
        """Rows of the table of types by part, kept by whoever looks them up."""
        self._nets: dict[str, tuple[str, ...]] = {}
        self._kinds: dict[str, str] = {}
        self._coils: dict[str, tuple[str, ...]] = {}
        self._on: dict[str, tuple[str, ...]] = {}

    @cached_property
    def _by_ref(self) -> dict[str, tuple[Pin, ...]]:
        found: dict[str, list[Pin]] = {}
        for pin in self.board.pins.values():
            found.setdefault(pin.ref, []).append(pin)
        return {ref: tuple(sorted(pins, key=lambda pin: natural_key(pin.number))) for ref, pins in found.items()}

    @cached_property
    def _by_net(self) -> dict[str, tuple[Pin, ...]]:
        found: dict[str, list[Pin]] = {}
        for pin in self.board.pins.values():
            if pin.net and self.is_there(pin.ref):
                found.setdefault(pin.net, []).append(pin)
        return {net: tuple(pins) for net, pins in found.items()}

    def is_there(self, ref: str) -> bool:
        """Return whether a place takes part in the circuit: to be fitted, or copper that joins nets."""
        part = self.board.parts.get(ref)
        return part is None or part.fit is Fit.FIT or part.identity.kind in _STAND_INS

    def pins(self, ref: str) -> tuple[Pin, ...]:
        """Return the pins of a part in natural order."""
        return self._by_ref.get(ref, ())

    def on(self, net: str) -> tuple[Pin, ...]:
        """Return the pins on a net, those of places not fitted left out."""
        return self._by_net.get(net, ())

    def kind(self, ref: str) -> str:
        """Return the kind of a part; a place that is on no list is `unknown`, a bare land no part."""
        if ref not in self._kinds:
            part = self.board.parts.get(ref)
            bare = "test_point" if class_letters(ref) in _BARE else "unknown"
            kind = part.identity.kind if part else bare
            several = kind == "bridge_rectifier" and len(self.pins(ref)) > _MOST_BRIDGE_PINS
            plugged = kind in _PLUGGED and class_letters(ref) in _PLUGS
            self._kinds[ref] = "ic" if several else "connector" if plugged else kind
        return self._kinds[ref]

    def facts(self, ref: str) -> PartFacts:
        """Return what board.toml says of a part."""
        return self.board.facts.parts.get(ref) or PartFacts()

    def text(self, ref: str) -> str:
        """Return type number, or else value and description of a part, in capitals."""
        part = self.board.parts.get(ref)
        if part is None:
            return ""
        identity = part.identity
        return f"{identity.part_number or identity.value.text}".upper().strip()

    def nets(self, ref: str) -> tuple[str, ...]:
        """Return the nets of a part, each once, in the order of its pins."""
        if ref not in self._nets:
            self._nets[ref] = tuple(dict.fromkeys(pin.net for pin in self.pins(ref) if pin.net))
        return self._nets[ref]

    def ends(self, ref: str) -> tuple[str, str] | None:
        """Return the two nets of a part with just two, or None."""
        nets = self.nets(ref)
        return (nets[0], nets[1]) if len(nets) == 2 else None

    def beyond(self, ref: str, net: str) -> tuple[str, ...]:
        """Return the other nets of a part."""
        return tuple(other for other in self.nets(ref) if other != net)

    def refs_on(self, net: str, *without: str) -> Iterator[str]:
        """Return each part on a net once."""
        if net not in self._on:
            self._on[net] = tuple(dict.fromkeys(pin.ref for pin in self.on(net)))
        return (ref for ref in self._on[net] if ref not in without)

    def coil(self, ref: str) -> tuple[str, ...]:
        """Return the two nets of a relay's coil: by stated pins, else those that a diode or other part joins."""
        if ref not in self._coils:
            self._coils[ref] = self._coil(ref)
        return self._coils[ref]

    def _coil(self, ref: str) -> tuple[str, ...]:
        nets = self.nets(ref)
        stated = [number for role, number in self.facts(ref).pins.items() if role.upper() in _COIL_PINS]
        if len(stated) == 2:
            found = tuple(pin.net for pin in self.pins(ref) if pin.number in stated and pin.net)
            return found if len(found) == 2 else ()
        if len(nets) == 2:
            return nets
        joined = [(pair, self._joining(ref, *pair)) for pair in combinations(nets, 2)]
        freewheels = [pair for pair, by in joined if by & GENERAL_DIODES]
        pairs = freewheels if len(freewheels) == 1 else [pair for pair, by in joined if by]
        return pairs[0] if len(pairs) == 1 else ()

    def _joining(self, ref: str, one: str, other: str) -> frozenset[str]:
        """Return the kinds of the other parts with two nets that join these two."""
        parts = (part for part in self.between(one, other) if part != ref and self.kind(part) not in OUTSIDE)
        return frozenset(self.kind(part) for part in parts if len(self.nets(part)) == 2)

    def through(self, ref: str, net: str) -> tuple[str, ...]:
        """Return the nets a part may join to a net: of a relay whose coil is known, not from coil to contact."""
        others = self.beyond(ref, net)
        if self.kind(ref) == "relay" and (coil := self.coil(ref)):
            return tuple(other for other in others if (other in coil) == (net in coil))
        return others

    def between(self, one: str, other: str) -> Iterator[str]:
        """Return the parts that are on both nets."""
        few, many = sorted((one, other), key=lambda net: len(self.on(net)))
        return (ref for ref in self.refs_on(few) if many in self.nets(ref))

    def ohms(self, ref: str) -> float | None:
        """Return the resistance that the list states, or None."""
        part = self.board.parts.get(ref)
        main = part.identity.value.main if part else None
        return float(main.value) if main and main.unit == "ohm" else None

    def farads(self, ref: str) -> float | None:
        """Return the capacitance that the list states, or None."""
        part = self.board.parts.get(ref)
        main = part.identity.value.main if part else None
        return float(main.value) if main and main.unit == "F" else None
