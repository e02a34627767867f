"""The circuit of a board, derived from netlist, list and facts; what cannot be derived is asked for."""

import re
from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType

from reworkkit.compute.circuit import (
    bipolars,
    breakdowns,
    conditions,
    couplers,
    diodes,
    leds,
    loads,
    mosfets,
    networks,
    parts,
    plugs,
    references,
    regulators,
    relays,
    switches,
    thyristors,
    transformers,
)
from reworkkit.compute.circuit.amplifiers import amplifies
from reworkkit.compute.circuit.bricks import own_grounds
from reworkkit.compute.circuit.bridges import close_lands
from reworkkit.compute.circuit.by_type import by_type
from reworkkit.compute.circuit.chips import chip, tells_levels
from reworkkit.compute.circuit.clamps import clamps
from reworkkit.compute.circuit.cross_coupled import cross_coupled
from reworkkit.compute.circuit.enables import held_off
from reworkkit.compute.circuit.figures import around
from reworkkit.compute.circuit.nets import ground_nets, rail_bands, unsure_nets
from reworkkit.compute.circuit.own_draw import beside_stated, typed_draw
from reworkkit.compute.circuit.rail_makers import rail_makers
from reworkkit.compute.circuit.regulator_723 import is_723
from reworkkit.compute.circuit.regulator_pins import own_levels
from reworkkit.compute.circuit.unknown_makers import with_unknown_makers
from reworkkit.compute.circuit.wiring import CHIPS, EXTERNAL, Wiring, words_of
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.designator_list import in_short
from reworkkit.model.facts import LoadFacts
from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.part import Part
from reworkkit.model.results import Circuit, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, Fit

MIDDLE_SHARE = 0.84
"""A load sets in over a step as wide as a sixteenth of its threshold; with its middle here it draws 95 % at the stated
voltage."""
Maker = Callable[[Wiring, Part], list[Element]]

_MAKERS: dict[str, Maker] = {
    "resistor": networks.fixed_resistor,
    "fusible_resistor": networks.fixed_resistor,
    "thermistor": switches.thermal,
    "inductor": parts.inductor,
    "common_mode_choke": networks.common_mode_choke,
    "ferrite_bead": parts.ferrite,
    "fuse": parts.fuse,
    "resettable_fuse": parts.fuse,
    "resistor_network": networks.network,
    "potentiometer": networks.potentiometer,
    "jumper": switches.jumper,
    "solder_jumper": switches.jumper,
    "net_tie": parts.link,
    "diode": diodes.diode,
    "diode_schottky": diodes.diode,
    "diode_dual": diodes.diode,
    "bridge_rectifier": diodes.bridge_rectifier,
    "diode_zener": breakdowns.breakdown,
    "tvs": breakdowns.breakdown,
    "tvs_one_way": breakdowns.breakdown,
    "tvs_two_way": breakdowns.breakdown,
    "led": leds.led,
    "mosfet": mosfets.mosfet,
    "igbt": mosfets.igbt,
    "transistor_bipolar": bipolars.bipolar,
    "transistor": bipolars.bipolar,
    "relay": relays.relay,
    "transformer": transformers.transformer,
    "voltage_reference": references.reference,
    "optocoupler": couplers.optocoupler,
    "linear_regulator": regulators.regulator,
    "switching_regulator": regulators.regulator,
    "switch": switches.switch,
    "fuse_holder": parts.fuse_holder,
    "filter": parts.through_filter,
    "lamp": loads.without_figures,
    "buzzer": loads.without_figures,
    "diac": thyristors.diac,
    "varistor": parts.nothing,
    "crystal": parts.nothing,
    "resonator": parts.nothing,
    "antenna": parts.nothing,
    "test_point": parts.nothing,
}


_MAKES_POWER = re.compile(
    r"(?<![a-z])(?:AC|DC)[-/ ]?DC(?![a-z])|power supply|converter|isolated|buck|step-?(?:down|up)", re.IGNORECASE
)
"""A module that makes power is not an integrated circuit that draws it from its highest net."""


def derive_circuit(board: Board, cathodes: Mapping[str, str] = MappingProxyType({}), guessing: bool = False) -> Circuit:
    """Return the circuit of a board: its elements, and the questions where something it needs is not known.

    Places that are not to be fitted have no element. Figures that nothing states come from the tables and are named
    in `assumed` of their element. Without a netlist the circuit is empty and says so. `cathodes` (designator -> net)
    says where diodes have their cathode whose leads are numbered only. With `guessing` parts of unknown type are what
    only they can be, which is told: for readings to be weighed against, not for what is forecast before power.
    """
    if not board.nets:
        return Circuit((), (), None, (_unknown((), "circuit-no-netlist"),))
    grounds = ground_nets(board)
    if not grounds:
        return Circuit((), (), None, (_unknown((), "circuit-no-ground", '[board] ground = ["GND"]'),))
    wiring = Wiring(board, grounds[0], rail_bands(board, grounds), cathodes, guessing)
    for net, because, answer in unsure_nets(board, grounds):
        wiring.ask((net,), because, answer)
    elements = [*_joined_grounds(wiring, grounds), *_supplies(wiring), *_rails(wiring)]
    made, beside = beside_stated(wiring, _of_parts(wiring, elements))
    elements += cross_coupled(made)
    elements += rail_makers(wiring, elements)
    elements = with_unknown_makers(wiring, elements) if guessing else elements
    elements += clamps(wiring, elements)
    elements = [*held_off(wiring, elements), *_loads(wiring, beside)]
    nodes = sorted({node for element in elements for node in element.nodes} | {grounds[0]}, key=natural_key)
    return Circuit(
        tuple(nodes),
        tuple(elements),
        grounds[0],
        _folded(wiring.not_judged),
        tuple(wiring.findings),
        close_lands(board, wiring.figure("bridge_gap_mm")),
    )


_GUESSED = frozenset(("circuit-role-by-pin", "circuit-role-above-ground"))


def cathodes_by_number(circuit: Circuit) -> dict[str, str]:
    """Return the net at which each diode has its cathode that is taken so by its numbering or by habit alone."""
    by_number = [e for e in circuit.elements if any(told.slug in _GUESSED for told in e.assumed)]
    return {e.ref: e.nodes[1] for e in by_number if e.kind in ("diode", "schottky", "led", "zener", "tvs")}


def _of_parts(wiring: Wiring, rails: list[Element]) -> list[Element]:
    """Return the elements of all parts in the order of their designators; amplifiers are told by what others are."""
    refs = sorted(wiring.board.parts, key=natural_key)
    later = {ref for ref, part in wiring.board.parts.items() if amplifies(wiring, part) or is_723(part)}
    found = {ref: _of_part(wiring, wiring.board.parts[ref]) for ref in refs if ref not in later}
    wiring.made = [*rails, *(element for elements in found.values() for element in elements)]
    found |= {ref: _of_part(wiring, wiring.board.parts[ref]) for ref in refs if ref in later}
    return [element for ref in refs for element in (*found[ref], *typed_draw(wiring, ref, found[ref]))]


def _unknown(about: tuple[str, ...], slug: str, answer: str | None = None) -> NotJudged:
    return NotJudged(about, message("circuit-question"), Message(slug), answer)


def _folded(questions: Iterable[NotJudged]) -> tuple[NotJudged, ...]:
    """Return the questions with those of one cause and one answer made one."""
    found: dict[tuple[Message, str | None], list[str]] = {}
    for one in questions:
        found.setdefault((one.because, one.answer), []).extend(one.about)
    return tuple(
        NotJudged(tuple(about), message("circuit-question"), because, answer)
        for (because, answer), about in found.items()
    )


def _of_part(wiring: Wiring, part: Part) -> list[Element]:
    kind = part.identity.kind
    of_copper = kind == "net_tie" or (kind == "solder_jumper" and part.fit is Fit.NOT_A_PART)
    if not wiring.pins(part.ref) or (part.fit is not Fit.FIT and not of_copper):
        return []
    if regulators.is_known(wiring, part):
        return [*regulators.regulator(wiring, part), *own_levels(wiring, part)]
    if (told := conditions.at_stated_ohms(wiring, part) or by_type(wiring, part)) is not None:
        return told
    if (load := loads.load(wiring, part)) or (kind == "inductor" and loads.is_named(wiring, part)):
        return load
    if maker := _MAKERS.get(kind):
        return maker(wiring, part)
    if kind == "module" and _MAKES_POWER.search(words_of(part)):
        return regulators.power_module(wiring, part)
    if kind.startswith("capacitor") or kind == "supercapacitor":
        return parts.capacitor(wiring, part)
    if kind in EXTERNAL or (kind == "unknown" and _is_inlet(wiring, part)):
        return plugs.plug(wiring, part)
    if kind in CHIPS or (kind == "unknown" and tells_levels(wiring, part)):
        return chip(wiring, part)
    return [] if conditions.stated_elsewhere(wiring, part) else _untold(wiring, part)


def _untold(wiring: Wiring, part: Part) -> list[Element]:
    """Return a part that nothing is known of: a contact where its `role` says closed, else of unknown behaviour."""
    shut = switches.contact_outside(wiring, part) if part.identity.kind == "unknown" else []
    return shut or parts.unmodelled(wiring, part)


def _is_inlet(wiring: Wiring, part: Part) -> bool:
    """Return whether a part has nothing but the nets of supplies, two of them at least: there power comes in."""
    nets = set(wiring.nets_of(part.ref))
    return len(nets) > 1 and nets <= {wiring.ground, *wiring.board.facts.supplies}


def _joined_grounds(wiring: Wiring, grounds: tuple[str, ...]) -> list[Element]:
    """Return a link for each further ground net that no part joins to the first: copper does, or the list is short."""
    apart = own_grounds(wiring)
    joined = [net for net in grounds[1:] if not wiring.joined(net, grounds[0]) and net not in apart]
    return [
        Element(
            "link",
            net,
            (net, grounds[0]),
            {"resistance": wiring.default("link")},
            (message("circuit-grounds", net=net),),
        )
        for net in joined
    ]


def _supplies(wiring: Wiring) -> list[Element]:
    found = []
    for net, facts in wiring.board.facts.supplies.items():
        if net not in wiring.board.nets:
            wiring.ask((net,), message("circuit-supply-no-net", net=net))
            continue
        if facts.volts is None:
            wiring.ask((net,), message("circuit-supply-no-volts", net=net), f'[supplies] "{net}" = "12 V"')
            continue
        limit = Band(None, float(facts.limit.value), None, "A", BandBasis.STATED) if facts.limit else None
        parameters = {
            "volts": wiring.rails[net][0],
            "limit": limit or Band(None, None, None, "A", BandBasis.STATED),
            "resistance": wiring.default("supply_resistance"),
        }
        found.append(Element("supply", net, (net, wiring.ground), parameters))
    if not wiring.board.facts.supplies:
        wiring.ask((), message("circuit-no-supply"), '[supplies] "+12V" = "12 V, limit 0.5 A"')
    return found


def _rails(wiring: Wiring) -> list[Element]:
    found = []
    for net, (band, told) in wiring.rails.items():
        if net in wiring.board.nets:
            facts = wiring.board.facts.rails.get(net)
            owner = facts.made_by or "" if facts else ""
            found.append(Element("rail", owner, (net, wiring.ground), {"volts": band}, told))
    for net, reach in wiring.board.facts.nets.items():
        ends = [None if end is None else float(end.value) for end in (reach.low, reach.high)]
        if net in wiring.board.nets and any(end is not None for end in ends):
            volts = Band(ends[0], None, ends[1], "V", BandBasis.STATED)
            found.append(Element("range", "", (net, wiring.ground), {"volts": volts}))
    return found


def _loads(wiring: Wiring, beside: Mapping[str, frozenset[str]]) -> list[Element]:
    """Return the stated loads; a load that names no part is drawn by the integrated circuits on its net together.

    `beside` are the parts on a net that draw beside what is stated of it.
    """
    found = []
    for net, facts in wiring.board.facts.loads.items():
        if net not in wiring.board.nets or (facts.amps is None and not loads.in_ohms(facts)):
            wiring.ask((net,), message("circuit-load-no-net", net=net))
            continue
        if loads.lone_load(wiring, net):
            continue
        if facts.amps is None:
            found.append(_ohmic_load(wiring, net, facts))
            continue
        percent = float(facts.tolerance.value) if facts.tolerance else wiring.figure("load_tolerance")
        from_volts = facts.from_volts and around(MIDDLE_SHARE * float(facts.from_volts.value), 0, "V")
        told = [] if facts.tolerance else [wiring.assumed("load_tolerance", net)]
        told += [] if from_volts else [wiring.assumed("load_from_volts", net)]
        parameters = {
            "current": around(float(facts.amps.value), percent, "A"),
            "from_volts": from_volts or wiring.default("load_from_volts"),
        }
        apart = beside.get(net, frozenset())
        owners = [facts.part] if facts.part else [ref for ref in wiring.chips_on(net) if ref not in apart]
        share = 1 / len(owners) if owners else 1.0
        for owner in owners or [""]:
            shared = {**parameters, "current": _share(parameters["current"], share)}
            why = message("circuit-load-shared", net=net, refs=in_short(owners)) if len(owners) > 1 else None
            if owner and net not in wiring.nets_of(owner):
                wiring.ask((owner,), message("circuit-load-elsewhere", net=net, ref=owner))
            back = _return_of(wiring, owner, net)
            ends = (back, net) if wiring.is_negative_rail(net) else (net, back)
            typed = [message("circuit-load-beside", net=net, refs=in_short(sorted(apart)))] if apart else []
            found.append(Element("load", owner, ends, shared, (*told, *([why] if why else []), *typed)))
    return found + _unstated_loads(wiring)


def _ohmic_load(wiring: Wiring, net: str, facts: LoadFacts) -> Element:
    """Return a load that is stated in ohms; without a tolerance of its own it is within a tenth."""
    assert facts.ohms is not None
    owner = facts.part or ""
    ends = (net, _return_of(wiring, owner, net))
    return Element("inductor", owner, ends, {"resistance": loads.stated_ohms(facts)})


def _return_of(wiring: Wiring, owner: str, net: str) -> str:
    """Return where the current of a load goes: to ground, or to the other end of a part that does not touch ground."""
    nets = wiring.nets_of(owner)
    others = [one for one in nets if one != net] if net in nets else []
    return others[0] if len(others) == 1 else wiring.ground


def _share(band: Band, share: float) -> Band:
    low, nominal, high = (None if end is None else end * share for end in (band.low, band.nominal, band.high))
    return Band(low, nominal, high, band.unit, band.basis)


def _unstated_loads(wiring: Wiring) -> list[Element]:
    """Ask for the current of rails that feed integrated circuits and have no stated load."""
    for net in wiring.rails:
        chips = [ref for ref in wiring.chips_on(net) if ref not in wiring.drawing]
        if net in wiring.board.nets and chips and net not in wiring.board.facts.loads:
            because = message("circuit-load-unknown", net=net, refs=in_short(chips))
            wiring.ask((net,), because, f'[loads] "{net}" = "25 mA 40 %"')
    return []
