"""Every constraint of the work order, as edges between pieces of work. Each has a slug, a reason and a source."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from reworkkit.compute.work_order.records import Constraint, Edge, Piece, WorkKind, hold, on
from reworkkit.compute.work_order.rules import Rule
from reworkkit.model.board import Board
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import HeatDemand, HoldOutline, Neighbourhood
from reworkkit.model.vocabulary import HeatClass, Mount, Side
from reworkkit.tables import OwnTables, rows_with
from reworkkit.tables.marks import kind_row

TALL_MM = 8.0
"""Height above which a part keeps the board from lying flat (common practice, no source)."""
LEVELS_MM = (3.0, 6.0, 12.0, 25.0)
"""Heights that separate low from high leaded parts (common practice, no source)."""


def catalogue(own: OwnTables | None = None) -> dict[str, Constraint]:
    """Return the constraints by slug, from tables/order_constraints.csv."""
    return {
        row["slug"]: Constraint(row["slug"], float(row["weight"]), row["floor"] == "yes")
        for row in rows_with("order_constraints", own or {})
    }


@dataclass(frozen=True)
class Scene:
    """All that the constraints look at."""

    board: Board
    pieces: tuple[Piece, ...]
    heat: Mapping[str, HeatDemand]
    neighbours: Mapping[str, Neighbourhood]
    outlines: tuple[HoldOutline, ...]
    rules: tuple[Rule, ...]

    @cached_property
    def keys(self) -> frozenset[str]:
        """Keys of all pieces."""
        return frozenset(piece.key for piece in self.pieces)

    @cached_property
    def parts_on(self) -> tuple[Part, ...]:
        """Parts that will be put on."""
        return tuple(self.board.parts[piece.refs[0]] for piece in self.pieces if piece.kind is WorkKind.ON)

    def side(self, ref: str) -> Side | None:
        """Return the side a part sits on, where the placement says."""
        place = self.board.placements.get(ref)
        return place.side if place else None

    def height_mm(self, part: Part) -> float:
        """Return the height of a part: stated in board.toml, else of its package, else 0 (unknown)."""
        said = self.board.facts.parts.get(part.ref)
        if said and said.height:
            return float(said.height.value)
        return part.identity.package.height_mm if part.identity.package else 0.0


def all_edges(scene: Scene, without: Iterable[str]) -> tuple[Edge, ...]:
    """Return the edges of every constraint that is not switched off, only between pieces that exist."""
    left_out = set(without)
    edges = [edge for make in MAKERS for edge in make(scene)]
    levels = {key for edge in edges for key in (edge.before, edge.after) if key.startswith("level:")}
    exists = scene.keys | levels
    return tuple(edge for edge in edges if edge.before in exists and edge.after in exists and edge.slug not in left_out)


def _off_before_on(scene: Scene) -> Iterable[Edge]:
    for piece in scene.pieces:
        if piece.kind is WorkKind.OFF:
            ref = piece.refs[0]
            yield Edge(piece.key, on(ref), "off-before-on", message("constraint-off-before-on", ref=ref))


def _removals_first(scene: Scene) -> Iterable[Edge]:
    """Damaged and reversed parts come off before anything is powered or added."""
    level = "level:all off"
    why = message("constraint-removals-first")
    if any(piece.kind is WorkKind.OFF for piece in scene.pieces):
        for piece in scene.pieces:
            first = piece.kind is WorkKind.OFF
            yield Edge(*((piece.key, level) if first else (level, piece.key)), "removals-first", why)


def _removal_floats(scene: Scene) -> Iterable[Edge]:
    for piece in scene.pieces:
        if piece.kind is WorkKind.OFF and piece.refs[0] in scene.neighbours:
            ref = piece.refs[0]
            for near, _ in scene.neighbours[ref].hot:
                yield Edge(
                    piece.key, on(near), "removal-floats", message("constraint-removal-floats", ref=ref, near=near)
                )


def _hold_points(scene: Scene) -> Iterable[Edge]:
    for n, outline in enumerate(scene.outlines):
        key = hold(outline.name)
        for ref in outline.needs:
            why = message("constraint-hold-point-needs", ref=ref, hold=outline.name)
            yield Edge(on(ref), key, "hold-point-needs", why)
        for ref in outline.protects:
            why = message("constraint-hold-point-protects", ref=ref, hold=outline.name)
            yield Edge(key, on(ref), "hold-point-protects", why)
        if n:
            before = scene.outlines[n - 1].name
            why = message("constraint-hold-point-order", first=before, second=outline.name)
            yield Edge(hold(before), key, "hold-point-order", why)
        if (feeder := _feeding_part(scene, outline)) is not None:
            why = message("constraint-feed-by-connector", ref=feeder, hold=outline.name)
            yield Edge(on(feeder), key, "feed-by-connector", why)


def _feeding_part(scene: Scene, outline: HoldOutline) -> str | None:
    """Return the connector that power comes in at, where the hold point does not name a test point to feed."""
    at = outline.feed
    if at is None and outline.supply:
        supply = scene.board.facts.supplies.get(outline.supply)
        at = supply.at if supply else None
    if at is None:
        return None
    ref = at.rpartition(".")[0] or at
    part = scene.board.parts.get(ref)
    return ref if part is not None and part.identity.kind in ("connector", "terminal") else None


def _bolting(scene: Scene) -> Iterable[Edge]:
    for n, facts in enumerate(scene.board.facts.fasten):
        key = f"bolt:{n}"
        if key not in scene.keys:
            continue
        for ref in facts.parts:
            if facts.before_soldering:
                yield Edge(key, on(ref), "bolt-before-solder", message("constraint-bolt-before-solder", ref=ref))
            else:
                yield Edge(on(ref), key, "bolt-before-solder", message("constraint-solder-before-bolt", ref=ref))
        for outline in scene.outlines:
            why = message("constraint-off-plate-first", hold=outline.name, plate=facts.to or "-")
            yield Edge(hold(outline.name), key, "off-plate-first", why)


def _programming(scene: Scene) -> Iterable[Edge]:
    for facts in scene.board.facts.program:
        key = f"program:{facts.part}"
        yield Edge(on(facts.part), key, "program-after-rails", message("constraint-program-fitted", ref=facts.part))
        if facts.after_hold_point:
            why = message("constraint-program-after-rails", ref=facts.part, hold=facts.after_hold_point)
            yield Edge(hold(facts.after_hold_point), key, "program-after-rails", why)
        connector = (facts.at or "").partition(".")[0]
        for other, neighbourhood in scene.neighbours.items():
            if connector and connector in neighbourhood.hides:
                why = message("constraint-program-before-hidden", ref=other, connector=connector)
                yield Edge(key, on(other), "program-before-hidden", why)


def _access(scene: Scene) -> Iterable[Edge]:
    for ref, neighbourhood in scene.neighbours.items():
        for hidden in neighbourhood.hides:
            yield Edge(on(hidden), on(ref), "access", message("constraint-access", ref=ref, hidden=hidden))


def _back_before_tall(scene: Scene) -> Iterable[Edge]:
    level = "level:back side"
    why = message("constraint-back-before-tall")
    tall = [part.ref for part in scene.parts_on if _is_tall_on_top(scene, part)]
    back = [part.ref for part in scene.parts_on if scene.side(part.ref) is Side.BOTTOM]
    if tall and back:
        yield from (Edge(on(ref), level, "back-before-tall", why) for ref in back)
        yield from (Edge(level, on(ref), "back-before-tall", why) for ref in tall)


def _is_tall_on_top(scene: Scene, part: Part) -> bool:
    return scene.side(part.ref) is not Side.BOTTOM and scene.height_mm(part) >= TALL_MM


def _low_before_high(scene: Scene) -> Iterable[Edge]:
    """Chain the leaded parts by height through levels, so that 5,000 parts need 5,000 edges and not their square."""
    leaded = [part for part in scene.parts_on if _is_leaded(part)]
    for upper in LEVELS_MM:
        level = f"level:{upper:g} mm"
        why = message("constraint-low-before-high", height=upper)
        for part in leaded:
            low = scene.height_mm(part) <= upper
            edge = (on(part.ref), level) if low else (level, on(part.ref))
            yield Edge(*edge, "low-before-high", why)


def _is_leaded(part: Part) -> bool:
    package = part.identity.package
    return package is not None and package.mount is Mount.THROUGH_HOLE


def _large_tabs_last(scene: Scene) -> Iterable[Edge]:
    level = "level:everything else"
    why = message("constraint-large-tabs-last")
    heavy = [part.ref for part in scene.parts_on if _asks_for_preheat(scene, part.ref)]
    if heavy:
        for part in scene.parts_on:
            yield Edge(*((level, on(part.ref)) if part.ref in heavy else (on(part.ref), level)), "large-tabs-last", why)


def _small_ics_first(scene: Scene) -> Iterable[Edge]:
    level = "level:small ICs"
    why = message("constraint-small-ics-first")
    ics = {part.ref for part in scene.parts_on if _is_small_ic(part)}
    if ics:
        for part in scene.parts_on:
            if part.ref in ics:
                yield Edge(on(part.ref), level, "small-ics-first", why)
            elif _is_leaded(part) or _asks_for_preheat(scene, part.ref):
                yield Edge(level, on(part.ref), "small-ics-first", why)


def _is_small_ic(part: Part) -> bool:
    package = part.identity.package
    return package is not None and package.mount is Mount.SMD and package.pins >= 5 and package.tab is None


def _hot_before_sensitive(scene: Scene) -> Iterable[Edge]:
    level = "level:hot work done"
    hot = [part.ref for part in scene.parts_on if _asks_for_preheat(scene, part.ref)]
    sensitive = [part.ref for part in scene.parts_on if _is_heat_sensitive(scene, part)]
    if hot and sensitive:
        why = message("constraint-hot-before-sensitive")
        yield from (Edge(on(ref), level, "hot-before-sensitive", why) for ref in hot if ref not in sensitive)
        yield from (Edge(level, on(ref), "hot-before-sensitive", why) for ref in sensitive)


def _asks_for_preheat(scene: Scene, ref: str) -> bool:
    demand = scene.heat.get(ref)
    return demand is not None and demand.heat_class is HeatClass.VERY_HEAVY


def _is_heat_sensitive(scene: Scene, part: Part) -> bool:
    said = scene.board.facts.parts.get(part.ref)
    if said is not None and said.heat_sensitive is not None:
        return said.heat_sensitive
    return kind_row(part.identity.kind)["heat_sensitive"] == "yes"


def spoilt_by_washing(board: Board) -> frozenset[str]:
    """Return the kinds that a wash with liquid can spoil."""
    return frozenset(row["kind"] for row in rows_with("washing", board.own_tables) if row["washable"] == "no")


def _washing(scene: Scene) -> Iterable[Edge]:
    if "wash" not in scene.keys:
        return
    spoilt = spoilt_by_washing(scene.board)
    for part in scene.parts_on:
        if part.identity.kind in spoilt:
            yield Edge("wash", on(part.ref), "washable-before-not", message("constraint-washable-after", ref=part.ref))
        else:
            yield Edge(on(part.ref), "wash", "washable-before-not", message("constraint-washable-before", ref=part.ref))


def _user_rules(scene: Scene) -> Iterable[Edge]:
    for rule in scene.rules:
        why = message("constraint-user-rule", rule=rule.text)
        for first in rule.earlier:
            yield from (Edge(on(first), on(second), "user-rule", why) for second in rule.later)


MAKERS: tuple[Callable[[Scene], Iterable[Edge]], ...] = (
    _off_before_on,
    _removals_first,
    _removal_floats,
    _hold_points,
    _bolting,
    _programming,
    _access,
    _back_before_tall,
    _low_before_high,
    _large_tabs_last,
    _small_ics_first,
    _hot_before_sensitive,
    _washing,
    _user_rules,
)
