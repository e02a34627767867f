"""Where a reading was taken, in terms of the circuit: nets, pins, two points, across a part, the supply current."""

from dataclasses import dataclass
from typing import NamedTuple

from reworkkit.model.board import Board
from reworkkit.model.judging import point_key
from reworkkit.model.netlist import Pin
from reworkkit.model.results import INNER, Circuit

SUPPLY = "supply"


class End(NamedTuple):
    """One probe: a node, the regulator pin it touches where it touches one, and the part whose own lead it is on."""

    node: str
    pin: tuple[str, str] | None = None
    lead_of: str | None = None


@dataclass(frozen=True, slots=True)
class Spot:
    """A resolved point: red end and black end; `supply` True for the current drawn, of the supply at `red` if told."""

    text: str
    red: End
    black: End
    supply: bool = False


class Spots:
    """Finds what the texts of points mean on one board."""

    def __init__(self, board: Board, circuit: Circuit) -> None:
        self.board, self.ground = board, circuit.ground or ""
        outside = (node for node in circuit.nodes if not node.endswith(INNER))
        self._nodes = {node.upper(): node for node in outside} | {net.upper(): net for net in board.nets}
        self._points = {point_key(name): at for name, at in board.facts.points.items()}
        self._elements = {e.ref: e for e in reversed(circuit.elements) if e.ref and len(e.nodes) >= 2}
        self._rows = {
            e.ref: e.nodes for e in circuit.elements if e.kind in ("regulator", "follower", "converter", "boost")
        }

    def find(self, text: str) -> Spot | None:
        """Return what a point means, or None where the circuit does not know it."""
        words = point_key(text)
        if words == SUPPLY:
            return Spot(SUPPLY, End(""), End(""), True)
        ends = words.split(" to ")
        if len(ends) == 1 and self._across(words) and words not in self._nodes:
            return self._across(words)
        found = [self._end(end) for end in ends]
        if len(found) > 2 or None in found:
            return None
        red, black = found[0], found[1] if len(found) == 2 else End(self.ground)
        assert red is not None
        assert black is not None
        return Spot(words, red, black)

    def _across(self, ref: str) -> Spot | None:
        element = self._elements.get(ref)
        if element is None or ref in self._points or element.kind in ("rail", "range", "load", "ic", "supply"):
            return None
        if len({(p.ref, p.number) for p in self.board.pins.values() if p.ref == ref}) > 2:
            return None
        return Spot(ref, End(element.nodes[0]), End(element.nodes[1]))

    def _end(self, words: str) -> End | None:
        if words in self._nodes:
            return End(self._nodes[words])
        if words in self._points and (at := self._points[words]) != words:
            return self._end(point_key(at))
        ref, _, number = words.rpartition(".")
        pin = self.board.pins.get((ref, number)) or self._named_pin(ref, number) or self._only_pin(words)
        if pin is None:
            return None
        return End(pin.node, self.role(pin.ref, pin.node), pin.ref)

    def _named_pin(self, ref: str, name: str) -> Pin | None:
        found = [p for p in self.board.pins.values() if p.ref == ref and (p.name or "").upper() == name]
        return found[0] if len(found) == 1 else None

    def _only_pin(self, ref: str) -> Pin | None:
        """Return the pin of a part that has only one: a test point on the list."""
        pins = [pin for pin in self.board.pins.values() if pin.ref == ref]
        return pins[0] if len(pins) == 1 else None

    def role(self, ref: str, node: str) -> tuple[str, str] | None:
        """Return (designator, unknown's name) of the regulator pin at a node, or None."""
        nodes = self._rows.get(ref)
        if nodes is None or node not in nodes[:3]:
            return None
        return ref, ("pin_in", "pin_out", "pin_common")[nodes[:3].index(node)]
