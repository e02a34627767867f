"""Which nets are ground, which are rails and at what voltage: by board.toml, else by name and by what is on them."""

import re
from collections.abc import Iterator

from reworkkit import tables
from reworkkit.compute.circuit.figures import Figures, around
from reworkkit.compute.circuit.wiring import words_of
from reworkkit.model.board import Board
from reworkkit.model.connections import LINKS, OUTSIDE, Connections
from reworkkit.model.messages import Message, message
from reworkkit.model.net_names import (
    CABLE_SUPPLY_NAMES,
    CABLE_SUPPLY_V,
    LOW_SUPPLY_NAMES,
    is_ground_name,
    is_signal_name,
    is_stated,
    volts_in_name,
    volts_of_name,
)
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

RAIL_TOLERANCE_PERCENT = 5.0
_USB_PLUG = re.compile(r"(?<!B)USB|TYPE[- ]?C\b", re.IGNORECASE)
"""Words of a USB plug or socket; a busbar is none."""
_POWER_DELIVERY = re.compile(
    r"power delivery|\bPD (?:sink|trigger|controller|source)|USB[- ]?PD\b"
    r"|CH224|HUSB238|STUSB45|FUSB302|CYPD\d|AP33771|IP27\d\d",
    re.IGNORECASE,
)
"""Words and types of a chip that asks the cable for more than 5 V; types from memory."""
_BELOW_GROUND = re.compile(
    r"negative(?! temp)|inverting (?:converter|regulator|charge)|voltage inverter", re.IGNORECASE
)
_BELOW_GROUND_ROLES = frozenset(("NEG", "NIN", "NOUT"))


def ground_nets(board: Board) -> tuple[str, ...]:
    """Return the ground nets, the one with most pins first: by board.toml, else by name.

    A net that board.toml puts at a voltage is none by its name. `VSS` is one only where nothing below ground is on it
    and no other net is called ground, or a link joins the two.
    """
    facts = board.facts
    found = [net for net in facts.board.ground if net in board.nets]
    if not found:
        found = [net for net in board.nets if is_ground_name(net) and not is_stated(facts, net)]
        found += [net for net in _doubtful_grounds(board) if _is_low_ground(Connections(board), net, found)]
    return tuple(sorted(found, key=lambda name: -len(board.nets[name].pins)))


def _doubtful_grounds(board: Board) -> list[str]:
    return [net for net in board.nets if net.upper() in LOW_SUPPLY_NAMES and not is_stated(board.facts, net)]


def _is_low_ground(wires: Connections, net: str, grounds: list[str]) -> bool:
    if any(_makes_below_ground(wires, net, pin.ref, pin.number) for pin in wires.on(net)):
        return False
    joined = (ref for ground in grounds for ref in wires.between(net, ground))
    return not grounds or any(wires.kind(ref) in LINKS or wires.ohms(ref) == 0 for ref in joined)


def _makes_below_ground(wires: Connections, net: str, ref: str, number: str) -> bool:
    """Return whether a pin belongs to what works below ground: by the table of types, else by its words."""
    text, count = wires.text(ref), len(wires.pins(ref))
    for row in tables.rows("chip_pins"):
        if text and int(row["pins"]) in (0, count) and re.match(row["pattern"], text):
            return dict(pair.split("=") for pair in row["roles"].split()).get(number) in _BELOW_GROUND_ROLES
    part = wires.board.parts.get(ref)
    return part is not None and bool(_BELOW_GROUND.search(part.identity.description))


def rail_bands(board: Board, grounds: tuple[str, ...]) -> dict[str, tuple[Band, tuple[Message, ...]]]:
    """Return what each rail is meant to be: stated supplies and rails, else the voltage its name tells."""
    found: dict[str, tuple[Band, tuple[Message, ...]]] = {}
    cable = _cable_nets(board)
    for net in board.nets:
        volts = volts_of_name(net)
        if net in cable:
            band = Band(*CABLE_SUPPLY_V, "V", BandBasis.TABLE)
            found[net] = band, (message("circuit-rail-by-plug", net=net, band=band),)
        elif volts is not None and net not in grounds:
            band = around(volts, RAIL_TOLERANCE_PERCENT, "V", BandBasis.TABLE)
            found[net] = band, (message("circuit-rail-by-name", net=net, band=band),)
    usual = Figures(board.own_tables).figure("supply_tolerance")
    for net, supply in board.facts.supplies.items():
        if supply.volts:
            percent = float(supply.tolerance.value) if supply.tolerance else usual
            found[net] = around(float(supply.volts.value), percent, "V"), ()
    for net, rail in board.facts.rails.items():
        if rail.volts:
            percent = float(rail.tolerance.value) if rail.tolerance else RAIL_TOLERANCE_PERCENT
            found[net] = around(float(rail.volts.value), percent, "V"), ()
    return found


def _cable_nets(board: Board) -> frozenset[str]:
    """Return the nets called as the supply of a USB cable that lead to a USB plug by links alone.

    None where a chip may ask the cable for more than 5 V.
    """
    named = [net for net in board.nets if net.upper() in CABLE_SUPPLY_NAMES]
    if not named or any(_POWER_DELIVERY.search(_words(board, ref)) for ref in board.parts):
        return frozenset()
    wires = Connections(board)
    return frozenset(net for net in named if any(_is_plug(wires, ref) for ref in _refs_at(wires, net)))


def _words(board: Board, ref: str) -> str:
    return words_of(board.parts[ref]).replace("_", " ")


def _is_plug(wires: Connections, ref: str) -> bool:
    known = wires.kind(ref) in OUTSIDE and ref in wires.board.parts
    return known and bool(_USB_PLUG.search(_words(wires.board, ref)))


def _refs_at(wires: Connections, net: str) -> Iterator[str]:
    """Return the parts on a net and on the nets that links join to it."""
    return (ref for joined in _joined(wires, net) for ref in wires.refs_on(joined))


def _joined(wires: Connections, net: str) -> tuple[str, ...]:
    """Return a net with the nets that links join to it."""
    found = {net: None}
    queue = [net]
    while queue:
        here = queue.pop()
        links = (ref for ref in wires.refs_on(here) if wires.kind(ref) in LINKS)
        further = [other for ref in links for other in wires.through(ref, here) if other not in found]
        found |= dict.fromkeys(further)
        queue += further
    return tuple(found)


def unsure_nets(board: Board, grounds: tuple[str, ...]) -> Iterator[tuple[str, Message, str]]:
    """Yield each net whose name tells less than it seems to, why, and the line that would tell.

    A signal by its name is asked about only where it stands as a supply would.
    """
    wires, rails = Connections(board), rail_bands(board, grounds)
    for net in _doubtful_grounds(board):
        if net not in grounds and not board.facts.board.ground:
            named = ", ".join(f'"{one}"' for one in (*grounds, net))
            yield net, message("circuit-ground-or-not", net=net), f"[board] ground = [{named}]"
    for net in board.nets:
        if net in rails or net in grounds or is_stated(board.facts, net):
            continue
        if net.upper() in CABLE_SUPPLY_NAMES:
            if any(is_stated(board.facts, other) for other in _joined(wires, net)):
                continue
            yield net, message("circuit-rail-no-plug", net=net), f'[rails] "{net}" = "5 V"'
        elif is_signal_name(net) and (volts := volts_in_name(net)) is not None and _feeds(wires, net, grounds):
            yield net, message("circuit-rail-or-signal", net=net), f'[rails] "{net}" = "{volts:g} V"'


_FED = re.compile(r"^(?:[AD]?V(?:CC|DD)\w{0,3}|VIN|V\+|VS\+?|VBAT|PVIN)$", re.IGNORECASE)
_OF_A_SUPPLY = frozenset(("ferrite_bead", "inductor", "fuse", "resettable_fuse"))
_LARGE_FARAD = 4e-6


def _feeds(wires: Connections, net: str, grounds: tuple[str, ...]) -> bool:
    """Return whether a net stands where a supply would: a supply pin, fuse, coil or large capacitor is on it."""
    if any(pin.name and _FED.match(pin.name) for pin in wires.on(net)):
        return True
    for ref in wires.refs_on(net):
        large = (wires.farads(ref) or 0.0) > _LARGE_FARAD and set(grounds) & set(wires.beyond(ref, net))
        if large or wires.kind(ref) in _OF_A_SUPPLY:
            return True
    return False
