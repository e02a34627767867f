"""How a part comes off: save the part or the board, by which way, in which order of pins, with what care.

Each joint's heat comes from the heat demand; what the board is made of and what stands on the bench from board.toml.
Ways, coatings and procedures are rows of removal_methods.csv, coatings.csv and repair_procedures.csv.
"""

from collections.abc import Mapping
from typing import NamedTuple

from reworkkit.compute.removal import notes
from reworkkit.compute.removal.choice import pins_in_order, way_off, what_to_save
from reworkkit.compute.removal.coating import coating_advice, coating_row
from reworkkit.compute.removal.near import hot_zone
from reworkkit.compute.removal.shape import shape_of
from reworkkit.model.board import Board
from reworkkit.model.job import PlaceState, SiteRecord, Situation
from reworkkit.model.judging import point_key
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.part import Part
from reworkkit.model.removal import BareProof, DesolderPlan, PinHeat, RemovalPlan, Save
from reworkkit.model.results import Alert, HeatDemand, HoldOutline, Joint, Neighbourhood, Plan
from reworkkit.model.vocabulary import AlertLevel, OperationKind, PartState, Place, Severity, WayRound
from reworkkit.tables import Row, rows, source

_WAYS: dict[str, Message] = {
    "wire_out": message("way-wire-out"),
    "flood_both": message("way-flood-both"),
    "air_small": message("way-air-small"),
    "flood_few": message("way-flood-few"),
    "ends_in_turn": message("way-ends-in-turn"),
    "ends_in_turn_hot": message("way-ends-in-turn"),
    "air_leads": message("way-air-leads"),
    "low_rows": message("way-low-rows"),
    "flood_rows": message("way-flood-rows"),
    "cut_rows": message("way-cut-rows"),
    "air_tab": message("way-air-tab"),
    "leads_then_tab": message("way-leads-then-tab"),
    "air_hidden": message("way-air-hidden"),
    "cut_and_pull": message("way-cut-and-pull"),
    "flood_holes": message("way-flood-holes"),
    "low_holes": message("way-low-holes"),
    "pump_each": message("way-pump-each"),
}
"""What to do for each row of removal_methods.csv."""


AT_ONCE = ("flood", "low", "air")
"""Ways that keep all joints liquid together: the heaviest sets tip and preheat."""


class Known(NamedTuple):
    """What other steps have found out: joints, heat of each joint and of each part, neighbours, hold points."""

    joints: tuple[Joint, ...]
    joint_heat: tuple[HeatDemand, ...]
    heat: Mapping[str, HeatDemand]
    neighbours: Mapping[str, Neighbourhood]
    outlines: tuple[HoldOutline, ...]


def taken_off(plan: Plan) -> tuple[str, ...]:
    """Return the places whose part the work order takes off, in the order of the work."""
    return tuple(dict.fromkeys(ref for op in plan.operations if op.kind == OperationKind.DESOLDER for ref in op.refs))


def plan_removal(
    board: Board, situation: Situation, refs: tuple[str, ...], known: Known, proof: BareProof
) -> DesolderPlan:
    """Return how each of these parts comes off, what the coating asks, and the proof of the bare places."""
    coating, steps, open_questions = coating_advice(board.facts.board.coating)
    plans = tuple(_part_off(board, situation, board.parts[ref], known) for ref in refs)
    if not any(plan.fitted for plan in plans):
        coating, steps, open_questions = (), (), ()
    else:
        coating += _hygiene(board)
    stuck = tuple(
        Finding(message("removal-not-with-these", ref=plan.ref), Severity.STOP, (plan.ref,), (), source("practice"))
        for plan in plans
        if plan.fitted and not plan.method and not plan.not_judged
    )
    return DesolderPlan(plans, coating, steps, proof, stuck, open_questions)


def _hygiene(board: Board) -> tuple[Alert, ...]:
    """The alloy as found: unknown counts as lead-free for heat and as leaded for hygiene."""
    found = (board.facts.board.alloy_found or "").casefold()
    row = next(
        (r for r in rows("alloys") if found and found in (r["alloy"] + " " + r["also"]).casefold().split()), None
    )
    if row is None:
        return ((AlertLevel.WARNING, message("removal-alloy-unknown")),)
    return ((AlertLevel.WARNING, message("removal-leaded", alloy=row["alloy"])),) if row["leaded"] == "yes" else ()


def _part_off(board: Board, situation: Situation, part: Part, known: Known) -> RemovalPlan:
    ref, state = part.ref, situation.states.get(part.ref)
    joints = tuple(joint for joint in known.joints if joint.ref == ref)
    pins = _pins(board, ref, known)
    save, save_why = what_to_save(part, state, board.facts.parts.get(ref))
    shape = shape_of(part, joints)
    fitted = _is_there(state)
    row = way_off(part, shape, save, pins, board.facts.bench) if shape and fitted else None
    zone = hot_zone(board, ref, known.neighbours.get(ref), notes.air_used(row)) if fitted else ()
    near = tuple(one for one in zone if _is_there(situation.states.get(one.ref)))
    case = notes.Case(board, part, save, row, pins, near, _sites(situation, ref), _is_reversed(state))
    coated = (coat := coating_row(board.facts.board.coating)) is not None and coat["key"] != "none"
    package = part.identity.package
    return RemovalPlan(
        ref=ref,
        kind=part.identity.kind,
        package=package.name if package else part.identity.package_text,
        fitted=fitted,
        save=save,
        save_why=save_why,
        method=row["key"] if row else "",
        method_words=_way(row, save),
        method_source=source(row["source"], row["place"]) if row else None,
        pins=pins,
        order_why=_order(row["key"]) if row and len(pins) > 1 else None,
        alerts=(*notes.alerts_of(case), *notes.power_note(case)),
        before=notes.before(case),
        added=notes.added_solder(case),
        neighbours=near,
        again=notes.again(case) if fitted else None,
        afterwards=notes.afterwards(case, known.outlines)[: None if fitted else 1],
        procedures=notes.procedures(case, coated),
        sites=case.sites,
        not_judged=() if shape else (_unknown_shape(ref),),
    )


def _is_there(state: PlaceState | None) -> bool:
    return state is None or state.place is not Place.EMPTY or state.part is PartState.TEMPORARY_LINK


def _is_reversed(state: PlaceState | None) -> bool:
    return state is not None and state.way_round is WayRound.REVERSED


def _order(way: str) -> Message:
    if way.startswith(AT_ONCE):
        return message("removal-order-at-once")
    return message("removal-order-cut" if way.startswith("cut") else "removal-order")


def _way(row: Row | None, save: Save) -> Message:
    if row is not None:
        return _WAYS[row["key"]]
    return message("way-none-part" if save is Save.PART else "way-none-board")


def _pins(board: Board, ref: str, known: Known) -> tuple[PinHeat, ...]:
    own = [demand for demand in known.joint_heat if demand.ref == ref]
    if not own and ref in known.heat:
        own = [known.heat[ref]]
    return pins_in_order(own, {number: pin.net for (of, number), pin in board.pins.items() if of == ref})


def _sites(situation: Situation, ref: str) -> tuple[SiteRecord, ...]:
    return tuple(
        site
        for site in situation.sites
        if ref.upper() in (point_key(site.point), point_key(site.point).rpartition(".")[0])
    )


def _unknown_shape(ref: str) -> NotJudged:
    line = f'[parts] {ref} = {{ package = "____" }}'
    return NotJudged((ref,), message("removal-question"), message("removal-no-package"), line)
