"""From ordered runs to numbered operations: what is done with each part, in which order, with which warnings."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from reworkkit.compute.work_order.closing import closing
from reworkkit.compute.work_order.draft import Draft
from reworkkit.compute.work_order.records import Piece, WorkKind
from reworkkit.compute.work_order.sequence import Run
from reworkkit.compute.work_order.setups import is_very_heavy
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.designator_list import in_short
from reworkkit.model.measuring import FIRST_OF_A_KIND
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import (
    Alert,
    HeatDemand,
    HoldOutline,
    Neighbourhood,
    Operation,
    OrientationVerdict,
    SetUp,
)
from reworkkit.model.vocabulary import AlertLevel, Fit, Mount, OperationKind, PolarityVerdict, YesNo
from reworkkit.tables import OwnTables, rows_with
from reworkkit.tables.marks import not_fitted_again

TOUCH_V = 60.0
"""Border of hazardous direct voltage (from memory)."""


class Stage(NamedTuple):
    """What writing operations out needs to know besides the runs."""

    board: Board
    verdicts: Mapping[str, OrientationVerdict]
    neighbours: Mapping[str, Neighbourhood]
    outlines: tuple[HoldOutline, ...]
    unseen: tuple[str, ...]
    there: tuple[str, ...]
    heat: Mapping[str, HeatDemand]


def operations_of(runs: Sequence[Run], stage: Stage) -> tuple[Operation, ...]:
    """Return the numbered operations of the ordered runs, preparation first."""
    new = [piece.refs[0] for run in runs for layer in run.layers for piece in layer if piece.kind is WorkKind.ON]
    drafts = _preparation(stage, new) if runs else []
    for run in runs:
        drafts += _of_run(run, stage)
    drafts += closing(stage.board) if runs else []
    return _numbered(drafts, tuple(o.name for o in stage.outlines), stage.board.own_tables)


def _preparation(stage: Stage, new: list[str]) -> list[Draft]:
    group = "group-before-the-iron"
    drafts = [
        Draft(group, OperationKind.PHOTOGRAPH, ("TOP", "BOTTOM"), SetUp("camera"), (message("why-photograph"),)),
        Draft(
            group,
            OperationKind.DISCHARGE,
            ("BOARD",),
            SetUp("meter"),
            (message("why-discharge"),),
            ((AlertLevel.WARNING, message("alert-discharge")),),
        ),
    ]
    if stage.unseen:
        why = (message("why-look"),)
        drafts.append(Draft(group, OperationKind.INSPECT, _natural(stage.unseen), SetUp("magnifier"), why))
    if bare := _to_bake(stage, new):
        alerts = ((AlertLevel.CAUTION, message("alert-bake")),)
        drafts.append(Draft(group, OperationKind.BAKE, _natural(bare), SetUp("oven"), (message("why-bake"),), alerts))
    if (coating := stage.board.facts.board.coating) and coating.casefold() != "none":
        alerts = ((AlertLevel.WARNING, message("alert-coating", coating=coating)),)
        why = (message("why-strip-coating"),)
        drafts.append(Draft(group, OperationKind.STRIP_COATING, ("BOARD",), SetUp("brush"), why, alerts))
    return drafts


def _to_bake(stage: Stage, refs: Iterable[str]) -> list[str]:
    """Return the parts to be soldered whose moisture level in board.toml gives them a floor life at all."""
    said = stage.board.facts.parts
    return [ref for ref in refs if ref in said and said[ref].moisture not in (None, "1")]


def _of_run(run: Run, stage: Stage) -> list[Draft]:
    drafts: list[Draft] = []
    for layer in run.layers:
        by_kind: dict[WorkKind, list[Piece]] = {}
        for piece in layer:
            by_kind.setdefault(piece.kind, []).append(piece)
        for kind, pieces in by_kind.items():
            drafts += _WRITERS[kind](run.setup, pieces, stage)
    return drafts


def _taking_off(setup: SetUp, pieces: list[Piece], stage: Stage) -> list[Draft]:
    group = "group-take-off"
    refs = _natural(piece.refs[0] for piece in pieces)
    parts = [stage.board.parts[ref] for ref in refs]
    drafts = [Draft(group, OperationKind.DESOLDER, refs, setup, (message("why-off-before-on"),), _off_alerts(parts))]
    if leaded := tuple(part.ref for part in parts if _is_leaded(part)):
        drafts.append(Draft(group, OperationKind.CLEAR_HOLES, leaded, setup, (message("why-clear-holes"),)))
    if refilled := tuple(part.ref for part in parts if part.fit is Fit.FIT):
        drafts.append(Draft(group, OperationKind.PROVE_PLACE, refilled, SetUp("meter"), (message("why-prove-place"),)))
    return drafts


def _off_alerts(parts: list[Part]) -> tuple[Alert, ...]:
    again = [part.ref for part in parts if not_fitted_again(part.identity.kind)]
    tabs = [part.ref for part in parts if part.identity.package is not None and part.identity.package.tab]
    alerts: list[Alert] = []
    if again:
        alerts.append((AlertLevel.CAUTION, message("alert-never-again", refs=" ".join(again))))
    if tabs:
        alerts.append((AlertLevel.WARNING, message("alert-beryllia", refs=" ".join(tabs))))
    return tuple(alerts)


def _putting_on(setup: SetUp, pieces: list[Piece], stage: Stage) -> list[Draft]:
    ordered = sorted(pieces, key=lambda piece: (piece.rank, _region(piece.refs[0], stage), natural_key(piece.refs[0])))
    parts = [stage.board.parts[piece.refs[0]] for piece in ordered]
    drafts: list[Draft] = []
    for group, batch, first_of_kind in _batches(parts, stage.heat):
        refs = tuple(part.ref for part in batch)
        drafts += _one_batch(group, setup, refs, batch, first_of_kind, stage)
    return drafts


def _one_batch(
    group: str, setup: SetUp, refs: tuple[str, ...], parts: list[Part], first_of_kind: bool, stage: Stage
) -> list[Draft]:
    turned = tuple(part.ref for part in parts if part.identity.polarised is YesNo.YES)
    two_pads = tuple(ref for ref in turned if (p := stage.board.parts[ref].identity.package) is None or p.pins == 2)
    drafts = []
    if two_pads:
        drafts.append(Draft(group, OperationKind.BEEP_PADS, two_pads, SetUp("meter"), (message("why-beep-pads"),)))
    alerts = _on_alerts(parts, turned, stage)
    drafts.append(Draft(group, OperationKind.SOLDER, refs, setup, (message(f"why-{group}"),), alerts))
    why = message("why-first-of-a-kind") if first_of_kind else message("why-inspect")
    drafts.append(Draft(group, OperationKind.INSPECT, refs, setup, (why,)))
    return drafts


def _on_alerts(parts: list[Part], turned: tuple[str, ...], stage: Stage) -> tuple[Alert, ...]:
    alerts: list[Alert] = []
    open_ones = [ref for ref in turned if _is_open(stage.verdicts.get(ref))]
    against = [ref for ref in turned if (v := stage.verdicts.get(ref)) and v.verdict is PolarityVerdict.CONTRADICTS]
    if against:
        alerts.append((AlertLevel.CAUTION, message("alert-contradicts", refs=" ".join(against))))
    if open_ones:
        alerts.append((AlertLevel.CAUTION, message("alert-way-round", refs=" ".join(open_ones))))
    if any("ceramic" in part.identity.kind and _is_large_chip(part) for part in parts):
        alerts.append((AlertLevel.CAUTION, message("alert-large-ceramic")))
    return tuple(alerts)


def _is_open(verdict: OrientationVerdict | None) -> bool:
    settled = (PolarityVerdict.AGREES, PolarityVerdict.CONTRADICTS, PolarityVerdict.NOT_POLARISED)
    return verdict is None or verdict.verdict not in settled


def _is_large_chip(part: Part) -> bool:
    package = part.identity.package
    return package is not None and package.mount is Mount.SMD and package.length_mm >= 3.0 and package.width_mm >= 2.4


def group_of(part: Part, heat: Mapping[str, HeatDemand]) -> str:
    """Return the slug of the heading a part is soldered under."""
    package = part.identity.package
    if package is None:
        return "group-package-unknown"
    if is_very_heavy(part, heat):
        return "group-large-tab"
    if package.mount is Mount.THROUGH_HOLE:
        return "group-leaded"
    if package.pins >= 5 and package.tab is None:
        return "group-small-ic"
    return "group-small-smd" if package.height_mm <= 3.0 else "group-large-smd"


def _batches(parts: list[Part], heat: Mapping[str, HeatDemand]) -> list[tuple[str, list[Part], bool]]:
    """Split a run so that look-alikes never share an operation and the first of a kind stands alone.

    Equal parts stay together; parts of one outline that nothing printed tells apart go into separate batches.
    """
    by_group: dict[str, list[Part]] = {}
    for part in parts:
        by_group.setdefault(group_of(part, heat), []).append(part)
    return [
        (group, batch, first_of_kind)
        for group, members in by_group.items()
        for alike in _without_look_alikes(members)
        for batch, first_of_kind in _first_apart(alike)
    ]


def _without_look_alikes(parts: list[Part]) -> list[list[Part]]:
    kinds: dict[str, list[Part]] = {}
    for part in parts:
        kinds.setdefault(part.identity.key, []).append(part)
    batches: list[tuple[set[str], list[Part]]] = []
    for equal in kinds.values():
        outline = look_alike_outline(equal[0])
        for outlines, batch in batches:
            if outline is None or outline not in outlines:
                outlines.add(outline or "")
                batch += equal
                break
        else:
            batches.append(({outline or ""}, list(equal)))
    return [batch for _, batch in batches]


def look_alike_outline(part: Part) -> str | None:
    """Return what a part may be mistaken for: its outline, where nothing readable tells two values apart.

    Chip resistors carry their value; ceramic chips carry nothing, and small semiconductors a code that few can read.
    """
    package = part.identity.package
    if package is None or part.identity.kind.startswith("resistor"):
        return None
    return f"{package.name}/{'capacitor' if 'capacitor' in part.identity.kind else 'other'}"


def _first_apart(batch: list[Part]) -> list[tuple[list[Part], bool]]:
    counts: dict[str, int] = {}
    for part in batch:
        if part.identity.polarised is YesNo.YES:
            counts[part.identity.key] = counts.get(part.identity.key, 0) + 1
    first: dict[str, Part] = {}
    for part in batch:
        if counts.get(part.identity.key, 0) >= FIRST_OF_A_KIND:
            first.setdefault(part.identity.key, part)
    if not first:
        return [(batch, False)]
    heads = list(first.values())
    return [(heads, True), ([part for part in batch if part not in heads], False)]


def _bolting(setup: SetUp, pieces: list[Piece], stage: Stage) -> list[Draft]:
    drafts = []
    for piece in pieces:
        facts = stage.board.facts.fasten[int(piece.key.removeprefix("bolt:"))]
        torque = facts.torque.text if facts.torque else ""
        alerts: list[Alert] = [(AlertLevel.CAUTION, message("alert-lead-bend"))]
        if facts.insulated:
            alerts.append((AlertLevel.WARNING, message("alert-tab-isolation")))
        why = message("why-fasten-first" if facts.before_soldering else "why-fasten-after", plate=facts.to or "-")
        how = message("why-torque", torque=torque) if torque else message("why-no-torque")
        drafts.append(Draft("group-bolt", OperationKind.FIT, piece.refs, setup, (why,)))
        drafts.append(Draft("group-bolt", OperationKind.FASTEN, piece.refs, setup, (how,), tuple(alerts)))
    return drafts


def _holding(setup: SetUp, pieces: list[Piece], stage: Stage) -> list[Draft]:
    drafts = []
    outlines = {outline.name: outline for outline in stage.outlines}
    for piece in pieces:
        name = piece.refs[0]
        whys = (message("why-hold-point"), message("why-hold-figures", name=name))
        alerts = tuple(_hold_alerts(stage.board, outlines[name]))
        drafts.append(Draft("group-hold-point", OperationKind.HOLD_POINT, piece.refs, setup, whys, alerts))
        off = (AlertLevel.WARNING, message("alert-discharge"))
        why = (message("why-off-discharge-zero"),)
        drafts.append(Draft("group-hold-point", OperationKind.DISCHARGE, piece.refs, SetUp("meter"), why, (off,)))
    return drafts


def _hold_alerts(board: Board, outline: HoldOutline) -> Iterator[Alert]:
    """Yield what can hurt at a hold point; one that asks for confirmation or a high voltage begins with `liverun`."""
    supplies = [one.strip() for one in (outline.supply or ", ".join(board.facts.supplies)).split(",")]
    stated = [facts.volts for net in supplies if (facts := board.facts.supplies.get(net)) and facts.volts]
    volts = max((abs(float(one.value)) for one in stated), default=0.0)
    if volts > TOUCH_V and (outline.supply or len(supplies) == 1):
        yield AlertLevel.WARNING, message("alert-live-voltage", volts=f"{volts:g} V")
    elif outline.confirm:
        yield AlertLevel.WARNING, message("alert-live-first")
    yield AlertLevel.WARNING, message("alert-first-power")
    yield AlertLevel.CAUTION, message("alert-limit-first")


def _programming(setup: SetUp, pieces: list[Piece], stage: Stage) -> list[Draft]:
    alerts: tuple[Alert, ...] = ((AlertLevel.WARNING, message("alert-programmer")),)
    return [
        Draft("group-program", OperationKind.PROGRAM, piece.refs, setup, (message("why-program"),), alerts)
        for piece in pieces
    ]


def _washing(setup: SetUp, pieces: list[Piece], stage: Stage) -> list[Draft]:
    alerts: list[Alert] = [(AlertLevel.WARNING, message("alert-solvent"))]
    if spoilt := _spoilt_on_board(stage):
        alerts.append((AlertLevel.CAUTION, message("alert-wash-spoils", refs=in_short(spoilt))))
    return [
        Draft("group-wash", OperationKind.WASH, ("BOARD",), setup, (message("why-wash"),), tuple(alerts)),
        Draft("group-wash", OperationKind.DRY, ("BOARD",), setup, (message("why-dry"),)),
    ]


def _spoilt_on_board(stage: Stage) -> list[str]:
    """Return the parts that are on the board already and that a wash would spoil."""
    kinds = {row["kind"] for row in rows_with("washing", stage.board.own_tables) if row["washable"] == "no"}
    parts = (stage.board.parts[ref] for ref in stage.there if ref in stage.board.parts)
    return [part.ref for part in parts if part.identity.kind in kinds]


_WRITERS = {
    WorkKind.OFF: _taking_off,
    WorkKind.ON: _putting_on,
    WorkKind.BOLT: _bolting,
    WorkKind.HOLD: _holding,
    WorkKind.PROGRAM: _programming,
    WorkKind.WASH: _washing,
}


def _numbered(drafts: list[Draft], hold_points: tuple[str, ...], own: OwnTables) -> tuple[Operation, ...]:
    minutes = {
        row["kind"]: (float(row["minutes_each"]), float(row["minutes_once"]))
        for row in rows_with("operation_minutes", own)
    }
    waiting = [draft.refs[0] for draft in drafts if draft.kind is OperationKind.HOLD_POINT]
    operations = []
    for n, draft in enumerate(drafts, start=1):
        if draft.kind is OperationKind.HOLD_POINT:
            waiting.pop(0)
        each, once = minutes[draft.kind.value]
        operations.append(
            Operation(
                n=n,
                kind=draft.kind.value,
                refs=draft.refs,
                setup=draft.setup,
                why=draft.why,
                after=(n - 1,) if n > 1 else (),
                hold_point=waiting[0] if waiting else None,
                alerts=draft.alerts,
                title=message(f"operation-{draft.kind.value.replace('_', '-')}"),
                group=draft.group,
                duration_s=60.0 * (once + each * len(draft.refs)),
            )
        )
    return tuple(operations)


def _region(ref: str, stage: Stage) -> str:
    neighbourhood = stage.neighbours.get(ref)
    return neighbourhood.region if neighbourhood else ""


def _is_leaded(part: Part) -> bool:
    package = part.identity.package
    return package is not None and package.mount is Mount.THROUGH_HOLE


def _natural(refs: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(refs, key=natural_key))
