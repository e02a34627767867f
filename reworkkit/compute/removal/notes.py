"""What to do before, what to add, what to mind, what to check afterwards, and the procedures by name."""

from collections.abc import Sequence
from typing import NamedTuple

from reworkkit.compute.removal.shape import is_power_part
from reworkkit.model.board import Board
from reworkkit.model.designator_list import in_short
from reworkkit.model.job import SiteRecord
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.removal import Neighbour, PinHeat, Procedure, Save
from reworkkit.model.results import Alert, HoldOutline
from reworkkit.model.vocabulary import AlertLevel, SiteDamage, YesNo
from reworkkit.tables import Row, rows, source
from reworkkit.tables.marks import not_fitted_again

_WARNING, _CAUTION = AlertLevel.WARNING, AlertLevel.CAUTION
_SITE_PROCEDURES = {
    SiteDamage.LAND_LOST: ("land_epoxy", "land_film", "jumper"),
    SiteDamage.BARREL_LOST: ("hole", "jumper"),
    SiteDamage.TRACK_CUT: ("track", "jumper"),
    SiteDamage.WIRE_REPAIR: (),
}
_SHOWN_NETS = 6


class Case(NamedTuple):
    """One part and how it comes off, as far as it is decided."""

    board: Board
    part: Part
    save: Save
    row: Row | None
    pins: tuple[PinHeat, ...]
    neighbours: tuple[Neighbour, ...]
    sites: tuple[SiteRecord, ...]
    reversed: bool
    """It only sits the wrong way round: sound until measured otherwise."""


def alerts_of(case: Case) -> tuple[Alert, ...]:
    """Return the warnings and cautions for taking this part off, warnings first."""
    part, key = case.part, case.row["key"] if case.row else ""
    package = part.identity.package
    found: list[Alert] = []
    if key.startswith("cut"):
        found.append((_WARNING, message("removal-clippings")))
    if package is not None and package.tab:
        found.append((_WARNING, message("removal-beryllia")))
    if part.identity.kind in ("battery", "supercapacitor"):
        found.append((_WARNING, message("removal-cell")))
    if case.pins and any(pin.reachable is not True for pin in case.pins):
        found.append((_CAUTION, message("removal-may-not-flow", pins=_may_not_flow(case))))
    if len(case.pins) > 1:
        found.append((_CAUTION, message("removal-no-pulling")))
    if "ceramic" in part.identity.kind and package is not None and package.length_mm >= 3.1:
        found.append((_CAUTION, message("removal-large-ceramic")))
    if any(pin.setup is not None and pin.setup.preheat_c for pin in case.pins):
        found.append((_CAUTION, message("removal-preheat-most")))
    return tuple(found)


def _may_not_flow(case: Case) -> str:
    return " ".join(f"{case.part.ref}.{pin.pin}" if pin.pin else case.part.ref
                    for pin in case.pins if pin.reachable is not True)  # fmt: skip


def before(case: Case) -> tuple[Message, ...]:
    """Return what to do before the iron touches the part."""
    part, board = case.part, case.board
    found = []
    if part.identity.polarised is not YesNo.NO:
        found.append(message("before-photograph"))
    for fact in board.facts.fasten:
        if part.ref in fact.parts:
            found.append(message("before-unbolt", plate=fact.to or "-"))
    kind = next((row for row in rows("part_kinds") if row["key"] == part.identity.kind), None)
    if case.save is Save.PART and kind is not None and kind["static_sensitive"] == "yes":
        found.append(message("before-static"))
    if air_used(case.row) and case.neighbours:
        found.append(message("before-shield", refs=in_short(one.ref for one in case.neighbours)))
    return tuple(found)


def air_used(row: Row | None) -> bool:
    """Return whether the way off blows hot air."""
    return row is not None and row["air"] == "yes"


def added_solder(case: Case) -> tuple[Message, ...]:
    """Return what is fed to the joints to free them, and how all of it comes off again."""
    kind = case.row["added"] if case.row else "none"
    if kind == "fresh":
        return (message("added-fresh"),)
    if kind == "low_melting":
        return message("added-low-melting"), message("added-low-melting-clean"), message("added-low-melting-record")
    return ()


def again(case: Case) -> Message | None:
    """Return why the part is not fitted again, or that it is measured first; None where it is cut up anyway."""
    if not_fitted_again(case.part.identity.kind):
        return message("again-never")
    if case.row is None or case.row["key"].startswith("cut") or (case.save is Save.BOARD and not case.reversed):
        return None
    facts = case.board.facts.parts.get(case.part.ref)
    if facts is not None and facts.moisture:
        return message("again-dry", level=facts.moisture)
    return message("again-measure")


def afterwards(case: Case, outlines: Sequence[HoldOutline]) -> tuple[Message, ...]:
    """Return what to look at and measure once the part is off."""
    part = case.part
    found = [message("after-holes" if _has_holes(case) else "after-lands")]
    if case.neighbours:
        found.append(message("after-neighbours", refs=in_short(one.ref for one in case.neighbours)))
    common = {*case.board.facts.board.planes, *case.board.facts.board.ground}
    nets = list(dict.fromkeys(pin.net for pin in case.pins if pin.net and pin.net not in common))
    if nets:
        more = " ..." if len(nets) > _SHOWN_NETS else ""
        found.append(message("after-readings", nets=", ".join(nets[:_SHOWN_NETS]) + more))
    if holds := [one.name for one in outlines if part.ref in one.needs]:
        found.append(message("after-hold-points", names=", ".join(holds)))
    return tuple(found)


def _has_holes(case: Case) -> bool:
    pins = [pin for pin in case.board.pins.values() if pin.ref == case.part.ref]
    return any(pad.drill_mm for pin in pins for pad in pin.pads)


def procedures(case: Case, coated: bool) -> tuple[Procedure, ...]:
    """Return the procedures to follow, by name: for the coating, the removal, the lands, the damage on record."""
    wanted = ["coating"] if coated else []
    wanted += [case.row["procedure"]] if case.row else []
    wanted.append("lands")
    for site in case.sites:
        wanted += _SITE_PROCEDURES[site.kind]
    table = {row["key"]: row for row in rows("repair_procedures")}
    found = [table[key] for key in dict.fromkeys(wanted)]
    return tuple(
        Procedure(r["key"], r["name"], r["standard"], r["number"], source(r["source"], r["place"])) for r in found
    )


def power_note(case: Case) -> tuple[Alert, ...]:
    """Return the caution that keeps low-melting alloy away from a part that carries power."""
    return ((_CAUTION, message("removal-no-low-melting")),) if is_power_part(case.part) else ()
