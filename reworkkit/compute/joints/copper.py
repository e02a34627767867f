"""Copper round the lands: planes declared by the person, or inferred from how many pins a net has, and said so."""

import math
from dataclasses import dataclass

from reworkkit.compute.joints.lands import Land
from reworkkit.model.board import Board
from reworkkit.model.layers import layers_of
from reworkkit.model.messages import Message, message
from reworkkit.model.net_names import LOW_SUPPLY_NAMES, is_ground_name
from reworkkit.model.vocabulary import Fit, JointKind
from reworkkit.tables import rows

Planes = tuple[tuple[str, float, str], ...]
FEWEST_PINS = 6
PLANE_PART = 0.9
"""Part of the board that a plane usually covers."""
EDGE_MM = 15.0
"""Edges farther than this do not matter in the time of one joint."""
TAB_VIAS, HIDDEN_VIAS = 6, 9
WIDE_NET_PINS = 4


def _figure(name: str) -> float:
    return next(float(row["value"]) for row in rows("heat_model") if row["figure"] == name)


@dataclass(frozen=True)
class Copper:
    """What is known of the copper of one board."""

    planes: dict[str, tuple[str, ...]]
    basis: str
    relief: str
    relief_said: bool
    plane_mm: float
    box: tuple[float, float, float, float] | None
    wide: frozenset[str]
    inferred: frozenset[str]

    def at(self, land: Land) -> tuple[Planes, int, tuple[Message, ...]]:
        """Return the planes of a land, its vias and what was assumed."""
        if land.net is None:
            return self._unknown(land)
        joined = self.planes.get(land.net, ())
        others = tuple(
            (layer, self.plane_mm, "not connected")
            for net, layers in self.planes.items()
            for layer in layers
            if net != land.net and layer not in joined
        )
        if not joined:
            own, assumed = self._own(land)
            return own + others, 0, assumed
        return self._joined(land, joined, others)

    def edges_mm(self, land: Land) -> tuple[float | None, float | None]:
        """Return the distances of a land to the nearest edge and the nearest one across, where they matter."""
        if self.box is None or land.x_mm is None or land.y_mm is None:
            return None, None
        left, bottom, right, top = self.box
        across = max(min(land.x_mm - left, right - land.x_mm), 0.5)
        along = max(min(land.y_mm - bottom, top - land.y_mm), 0.5)
        first, second = sorted((across, along))
        return (first if first <= EDGE_MM else None), (second if second <= EDGE_MM else None)

    def _joined(self, land: Land, joined: tuple[str, ...], others: Planes) -> tuple[Planes, int, tuple[Message, ...]]:
        assumed: list[Message] = []
        if land.net in self.inferred:
            assumed.append(message("heat-plane-inferred", net=str(land.net), layers=", ".join(joined)))
        relief = "none" if land.kind in (JointKind.TAB, JointKind.HIDDEN) else self.relief
        if not self.relief_said and land.kind in (JointKind.PAD, JointKind.HOLE):
            assumed.append(message("heat-relief-assumed", relief=relief))
        planes = tuple((layer, self.plane_mm, relief) for layer in joined) + others
        if land.kind is JointKind.HOLE or joined == (str(land.side),):
            return planes, 0, tuple(assumed)
        vias = {JointKind.TAB: TAB_VIAS, JointKind.HIDDEN: HIDDEN_VIAS}.get(land.kind, 1)
        assumed.append(message("heat-vias-assumed", count=vias))
        if land.side not in joined:
            own = self._own(land)[0] if land.kind is not JointKind.PAD else self._track(land)
            planes = own + planes
        return planes, vias, tuple(assumed)

    def _track(self, land: Land) -> Planes:
        return ((str(land.side), 0.0, f"track {_figure('via_track'):g} mm"),)

    def _own(self, land: Land) -> tuple[Planes, tuple[Message, ...]]:
        """Copper of a land whose net has no plane on its side: a pour for tabs and busy nets, else a track."""
        if land.kind in (JointKind.TAB, JointKind.HIDDEN):
            side = _figure("tab_pour" if land.kind is JointKind.TAB else "pour")
            return ((str(land.side), side / math.sqrt(math.pi), "none"),), (message("heat-pour-assumed", side=side),)
        if land.net in self.wide:
            side = _figure("pour")
            planes = ((str(land.side), side / math.sqrt(math.pi), self.relief),)
            return planes, (message("heat-pour-assumed", side=side),)
        track = _figure("track")
        return ((str(land.side), 0.0, f"track {track:g} mm"),), (message("heat-track-assumed", width=track),)

    def _unknown(self, land: Land) -> tuple[Planes, int, tuple[Message, ...]]:
        """Copper of a land whose net is not known: a pour, with a wide range."""
        names = {JointKind.TAB: "tab_pour", JointKind.PAD: "unknown_pour"}
        side = _figure(names.get(land.kind, "pour"))
        relief = "none" if land.kind in (JointKind.TAB, JointKind.HIDDEN) else self.relief
        planes = ((str(land.side), side / math.sqrt(math.pi), relief),)
        return planes, 0, (message("heat-copper-not-known"),)


def copper_of(board: Board) -> Copper:
    """Return what is known of the copper of a board: from board.toml, else from the netlist's fan-out."""
    said = board.facts.board
    box = _box(board)
    area = (box[2] - box[0]) * (box[3] - box[1]) if box else _size(board) or 50.0 * 40.0
    there = layers_of(said.layers or 2)
    declared = {net: tuple(layer for layer in layers if layer in there) for net, layers in said.planes.items()}
    planes = {net: layers for net, layers in declared.items() if layers}
    inferred = {} if planes else _inferred(board)
    return Copper(
        planes | inferred,
        "declared" if planes else "inferred",
        said.relief or "4 spokes 0.3 mm",
        said.relief is not None,
        math.sqrt(PLANE_PART * area / math.pi),
        box,
        frozenset(name for name, net in board.nets.items() if len(net.pins) >= WIDE_NET_PINS and _is_rail(board, name)),
        frozenset(inferred),
    )


def _is_rail(board: Board, net: str) -> bool:
    facts = board.facts
    return net in facts.rails or net in facts.supplies or net in facts.loads or net.startswith(("+", "V"))


def _inferred(board: Board) -> dict[str, tuple[str, ...]]:
    """Return the nets taken for planes: ground, and on four layers the busiest rail; by number of pins."""
    counts = {name: len(net.pins) for name, net in board.nets.items() if len(net.pins) >= FEWEST_PINS}
    busiest = sorted(counts, key=lambda name: (-counts[name], name))
    grounds = [n for n in busiest if n in board.facts.board.ground or _is_ground(n)]
    ground = grounds[0] if grounds else next(iter(busiest), None)
    if ground is None:
        return {}
    if (board.facts.board.layers or 2) < 4:
        return {ground: ("bottom",)}
    rail = next((n for n in busiest if n != ground and _is_rail(board, n)), None)
    planes: dict[str, tuple[str, ...]] = {ground: ("inner1",)}
    return planes | {rail: ("inner2",)} if rail else planes


def _is_ground(net: str) -> bool:
    """Return whether a net is called ground, or a negative supply that has as much copper."""
    return is_ground_name(net) or net.upper().lstrip("/") in LOW_SUPPLY_NAMES


def _size(board: Board) -> float | None:
    size = board.facts.board.size
    return float(size[0].value * size[1].value) if size else None


def _box(board: Board) -> tuple[float, float, float, float] | None:
    """Return left, bottom, right, top of the outline, else of pads and places with a margin or the size said."""
    if board.outline:
        points = list(board.outline)
        margin = 0.0
    else:
        points = [(pad.x_mm, pad.y_mm) for pin in board.pins.values() for pad in pin.pads]
        points += [(p.x_mm, p.y_mm) for ref, p in board.placements.items() if _is_part(board, ref)]
        margin = 4.0
    if len(points) < 2:
        return None
    xs, ys = [x for x, _ in points], [y for _, y in points]
    box = (min(xs) - margin, min(ys) - margin, max(xs) + margin, max(ys) + margin)
    return box if board.outline else _widened(board, box)


def _is_part(board: Board, ref: str) -> bool:
    return ref in board.parts and board.parts[ref].fit is not Fit.NOT_A_PART


def _widened(board: Board, box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    size = board.facts.board.size
    if not size:
        return box
    more_x = (float(size[0].value) - (box[2] - box[0])) / 2
    more_y = (float(size[1].value) - (box[3] - box[1])) / 2
    return box[0] - more_x, box[1] - more_y, box[2] + more_x, box[3] + more_y
