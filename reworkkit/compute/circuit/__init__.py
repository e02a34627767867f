"""The circuit of a board: what netlist, list and facts say electrically, and its operating point.

`derive_circuit(board)` gives a `Circuit` of elements. Each element has the designator it belongs to (`ref`; the net
where it belongs to none), its nodes in the order below, and parameters as bands. A node is a net name, or `REF.PIN` for
a pin that is connected to nothing.

| kind | nodes | parameters |
|---|---|---|
| resistor, fuse, inductor, link, switch | a, b | resistance (ohm) |
| diode, schottky, led | anode, cathode | forward (V) at (A), ideality, series (ohm) |
| zener, tvs | anode, cathode | as diode, and breakdown (V) at breakdown_at (A), slope (ohm); knee (V) of a Zener |
| tvs_two_way | a, b | breakdown (V), breakdown_at (A), slope (ohm) |
| capacitor | a, b | capacitance (F), leakage (ohm) |
| capacitor_polarised | plus, minus | capacitance (F), leakage (ohm) |
| regulator | in, out, common, sense | volts (V, sense to common), dropout (V), limit (A), quiescent (A) |
| converter | in, out, common, sense | volts, dropout, limit, quiescent, start, efficiency (1) |
| boost | in, out, common, sense | volts, limit, quiescent, start, efficiency (1), most (V): what its switch stands |
| boost, of a pump | in, out, common, out | as boost, volts below zero; mirror (1), inner (ohm) |
| enable | net, common | threshold (V): what turns the regulator of the same designator on; no current |
| mosfet_n, mosfet_p | drain, gate, source | threshold (V), channel (ohm), as diode for its body diode; knee (V) |
| follower | in, out, common, sense | as regulator: an operational amplifier that follows `common` |
| current_set | net, net | volts (V) that a driver holds across the resistor there; carries nothing |
| gain_set | net, net | siemens (S) that an amplifier makes of its input; the resistor there sets its gain |
| npn, pnp | collector, base, emitter | as diode for its base junctions, gain (1); of a shunt: saturation (V) |
| ic | supply, ground | unpowered (ohm), and as diode for its protection diode |
| load | net, ground | current (A), from_volts (V) |
| supply | plus, minus | volts (V), limit (A), resistance (ohm) |
| driver | net, supply, ground | resistance (ohm): a signal pin of an integrated circuit, level unknown |
| external | net | a pin of a connector: the world outside |
| rail | net, ground | volts (V): what the net is meant to be, by board.toml or by its name; no current |
| range | net, ground | volts (V): what board.toml says the net may be at; no current |
| unmodelled | one node a pin | none: a part whose behaviour is not known |

`sense` is `out` for a fixed regulator, the feedback net for a converter with a divider; `common` is the ground pin, or
the adjust pin of a three-terminal adjustable regulator. A converter drives its switch node (the average of it), so a
coil in series carries the current it really carries. Elements whose role was assumed say so in `assumed`.
The operating point of a circuit comes from `compute/formulas/network`.
"""

from reworkkit.compute.circuit.derive import cathodes_by_number, derive_circuit

__all__ = ["cathodes_by_number", "derive_circuit"]
