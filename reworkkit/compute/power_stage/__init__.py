"""The table of a power stage: ohms and diode readings, without power, that must agree among like switches.

Six readings a device: drain to source, gate to source and gate to drain, each both ways. Absolute figures depend on
all that hangs on the nets; agreement does not, which is why the odd one out is named. How close is close enough:
probe_limits.csv (common practice, no source).
"""

from collections.abc import Iterable
from statistics import median

from reworkkit.compute.power_stage.devices import Alike, Device, alike, devices_of, gate_parts
from reworkkit.model.board import Board
from reworkkit.model.check_sheet import CheckGroup, CheckSheet
from reworkkit.model.designator import natural_key
from reworkkit.model.designator_list import in_short
from reworkkit.model.job import Situation
from reworkkit.model.judging import point_key
from reworkkit.model.measuring import Check, Point, Reading
from reworkkit.model.messages import Finding, Message, NotJudged, message
from reworkkit.model.results import Circuit
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import AlertLevel, BandBasis, CheckPurpose, Mode, Place, ReadingForm, Severity
from reworkkit.tables import rows, source

_TITLES = {
    "bridge_high": message("stage-bridge-high"),
    "bridge_low": message("stage-bridge-low"),
    "parallel": message("stage-parallel"),
    "channel": message("stage-channel"),
}
_ALERTS = ((AlertLevel.CAUTION, message("stage-volts-first")), (AlertLevel.CAUTION, message("stage-gate-touch")))
_SWITCH_WORDS = ("mosfet", "igbt", "transistor_bipolar")
Row = tuple[str, bool, tuple[Check, ...]]


def stage_checks(board: Board, circuit: Circuit, situation: Situation, refs: tuple[str, ...] = ()) -> CheckSheet:
    """Return the readings that must agree among half-bridges, parallel devices and like channels, unpowered.

    `refs` narrows it to the sets these places stand in. Readings on record are held against each other at once.
    """
    absent = frozenset(ref for ref, state in situation.states.items() if state.place is Place.EMPTY)
    devices = devices_of(board, circuit, absent)
    sets = [one for one in alike(devices) if not refs or any(d.ref in refs for d in one.devices)]
    groups: list[CheckGroup] = []
    checks: list[Check] = []
    findings: list[Finding] = []
    for one in sets:
        for part_of_set in _in_like_state(situation, one):
            table = [_row(board, situation, part_of_set, which) for which in ("drain", "gate_source", "gate_drain")]
            lines = [(what, swapped, row) for what, row in table for swapped in (False, True)]
            groups.append(_group(part_of_set, lines, _notes(board, situation, part_of_set)))
            checks += [check for _, row in table for check in row]
            findings += _odd_ones(board, situation, lines)
    read = _read(situation, checks)
    return CheckSheet(
        CheckPurpose.POWER_STAGE,
        tuple(checks),
        _ALERTS if checks else (),
        tuple(findings),
        _open(board, devices, refs),
        tuple(groups),
        read,
    )


def _in_like_state(situation: Situation, one: Alike) -> list[Alike]:
    """Split a set by whether the devices are on the board: a bare place reads otherwise than a fitted one."""
    by_place: dict[Place, list[Device]] = {}
    for device in one.devices:
        by_place.setdefault(_place(situation, device.ref), []).append(device)
    return [Alike(one.why, tuple(group)) for group in by_place.values() if len(group) > 1]


def _place(situation: Situation, ref: str) -> Place:
    state = situation.states.get(ref)
    return state.place if state is not None else Place.NOT_INSPECTED


def _notes(board: Board, situation: Situation, one: Alike) -> tuple[Message, ...]:
    """Return what makes readings differ by design: bare places, and gate parts that are not on the board."""
    bare = _place(situation, one.devices[0].ref) is Place.EMPTY
    gate = {ref for device in one.devices for ref in gate_parts(board, device)}
    missing = [ref for ref in gate if _place(situation, ref) is Place.EMPTY]
    found = [message("stage-bare")] if bare else []
    if missing:
        found.append(message("stage-missing", refs=in_short(missing)))
    return (*found, message("stage-how", volts=_limit("agree_diode_v"), percent=_limit("agree_ohms_percent")))


def _limit(key: str) -> float:
    return next(float(row["value"]) for row in rows("probe_limits") if row["key"] == key)


def _group(one: Alike, lines: list[Row], notes: tuple[Message, ...]) -> CheckGroup:
    rows_ = tuple((_what(what, swapped), swapped, tuple(check.id for check in row)) for what, swapped, row in lines)
    return CheckGroup(_TITLES[one.why], tuple(device.ref for device in one.devices), rows_, notes)


def _what(which: str, swapped: bool) -> Message:
    words = {
        ("drain", False): message("stage-diode-forward"),
        ("drain", True): message("stage-diode-back"),
        ("gate_source", False): message("stage-gate-source"),
        ("gate_source", True): message("stage-source-gate"),
        ("gate_drain", False): message("stage-gate-drain"),
        ("gate_drain", True): message("stage-drain-gate"),
    }
    return words[(which, swapped)]


def _row(board: Board, situation: Situation, one: Alike, which: str) -> tuple[str, tuple[Check, ...]]:
    return which, tuple(_check(board, situation, device, which) for device in one.devices)


def _check(board: Board, situation: Situation, device: Device, which: str) -> Check:
    drain, gate, source_ = (f"{device.ref}.{number}" for number in device.pins)
    bare = _place(situation, device.ref) is Place.EMPTY
    mode, expect = Mode.OHMS, None
    if which == "drain":
        # The body diode conducts from source to drain in an N-channel device, from drain to source in a P-channel one.
        plus, minus = (source_, drain) if device.kind == "mosfet_n" else (drain, source_)
        mode, expect = Mode.DIODE, None if bare else device.forward
        why = message("stage-why-bare" if bare else "stage-why-body-diode", ref=device.ref)
    elif which == "gate_source":
        plus, minus = gate, source_
        expect = _pull(board, situation, device)
        why = message("stage-why-gate-source", ref=device.ref)
    else:
        plus, minus = gate, drain
        why = message("stage-why-gate-drain", ref=device.ref)
    key = f"{CheckPurpose.POWER_STAGE}:{device.ref}:{which}"
    point = Point(f"{plus} to {minus}", plus, minus)
    return Check(key, CheckPurpose.POWER_STAGE, point, mode, None, expect, expect if which == "gate_source" else None,
                 (device.ref,), None, why, 0.5)  # fmt: skip


def _pull(board: Board, situation: Situation, device: Device) -> Band | None:
    """Return what gate to source may read: no more than the resistor between them; other paths may only lower it."""
    for ref in gate_parts(board, device):
        ends = {pin.net for (of, _), pin in board.pins.items() if of == ref}
        part = board.parts.get(ref)
        value = part.identity.value.main if part else None
        if ends == {device.gate, device.source} and value is not None and value.unit == "ohm":
            if _place(situation, ref) is Place.EMPTY:
                return None
            percent = float(part.identity.value.tolerance.value) if part and part.identity.value.tolerance else 5.0
            return around(float(value.value), percent)
    return None


def around(ohm: float, percent: float) -> Band:
    """Return the band of a pull resistor in its circuit: half of it (driver inputs beside it) to its tolerance."""
    return Band(0.5 * ohm, ohm, ohm * (1 + percent / 100), "ohm", BandBasis.TABLE)


def _newest(situation: Situation, check: Check) -> dict[bool, Reading]:
    """Return the newest reading of a probe for each way round of the leads; a point typed the other way is swapped."""
    other_way = point_key(f"{check.point.b} to {check.point.a}")
    found: dict[bool, Reading] = {}
    for reading in situation.readings:
        if reading.mode is not check.mode or reading.hold_point is not None:
            continue
        if point_key(reading.point) == point_key(check.point.text):
            found[reading.leads_swapped] = reading
        elif point_key(reading.point) == other_way:
            found[not reading.leads_swapped] = reading
    changed = [state.changed for ref in check.refs if (state := situation.states.get(ref)) is not None]
    last = max((c for c in changed if c is not None), default=-1)
    return {way: r for way, r in found.items() if r.event is None or r.event > last}


def _read(situation: Situation, checks: Iterable[Check]) -> tuple[tuple[str, bool, str], ...]:
    return tuple((c.id, way, reading.text) for c in checks for way, reading in sorted(_newest(situation, c).items()))


def _odd_ones(board: Board, situation: Situation, lines: list[Row]) -> list[Finding]:
    found = []
    for which, swapped, row in lines:
        read = [(check, r) for check in row if (r := _newest(situation, check).get(swapped)) is not None]
        odd = _odd(read)
        if odd and (others := [check.refs[0] for check, _ in read if check.refs[0] not in odd]):
            found.append(_finding(board, situation, which, odd, others, read))
        elif odd:
            found.append(_finding(board, situation, which, odd, [], read))
    return found


def _odd(read: list[tuple[Check, Reading]]) -> list[str]:
    """Return the devices that do not read like the rest: another form, or further from the middle than allowed."""
    if len(read) < 2:
        return []
    values = [r.value for _, r in read if r.form is ReadingForm.VALUE and r.value is not None]
    open_ones = [c.refs[0] for c, r in read if r.form is not ReadingForm.VALUE]
    closed = [c.refs[0] for c, r in read if r.form is ReadingForm.VALUE]
    if open_ones and closed:
        if len(open_ones) == len(closed):
            return [*open_ones, *closed]
        return min(open_ones, closed, key=len)
    if not values:
        return []
    middle = median(values)
    return [c.refs[0] for c, r in read if r.value is not None and abs(r.value - middle) > _allowed(c.mode, middle)]


def _allowed(mode: Mode, middle: float) -> float:
    return _limit("agree_diode_v") if mode is Mode.DIODE else _limit("agree_ohms_percent") / 100 * middle


def _finding(
    board: Board, situation: Situation, which: str, odd: list[str], others: list[str], read: list[tuple[Check, Reading]]
) -> Finding:
    said = ", ".join(f"{check.refs[0]} {reading.text}" for check, reading in read)
    slug = "stage-odd" if others else "stage-differ"
    text = message(slug, odd=in_short(odd), others=in_short(others), what=_what_short(which), said=said)
    return Finding(text, Severity.CHECK, tuple(sorted(odd, key=natural_key)), (), source("practice"))


def _what_short(which: str) -> str:
    return {"drain": "D-S", "gate_source": "G-S", "gate_drain": "G-D"}[which]


def _open(board: Board, devices: tuple[Device, ...], refs: tuple[str, ...]) -> tuple[NotJudged, ...]:
    """Ask about like switches whose pins are not known; bipolar transistors and IGBTs have no table yet."""
    known = {device.ref for device in devices}
    unknown = [
        ref
        for ref, part in board.parts.items()
        if part.fit == "fit" and part.identity.kind in _SWITCH_WORDS and ref not in known and (not refs or ref in refs)
    ]
    keys = [board.parts[ref].identity.key for ref in unknown]
    unknown = [ref for ref, key in zip(unknown, keys, strict=True) if keys.count(key) > 1]
    if not unknown:
        return ()
    line = f'[parts] {unknown[0]} = {{ kind = "mosfet", pins = {{ G = "1", D = "2", S = "3" }} }}'
    refs_ = tuple(sorted(unknown, key=natural_key))
    return (NotJudged(refs_, message("stage-question"), message("stage-pins-unknown"), line),)
