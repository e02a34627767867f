"""The list of inputs and outputs: what to do, what to see. Inputs before outputs, outputs first on a dummy load.

Made from [inputs] and [outputs], the switches and indicators of the list, and the connector pins of the netlist. What
a pin is for is never guessed: a connector pin that nothing explains becomes a question. That a switch is tried by its
state before power, and an output first on a lamp or a resistor, is common practice, no source.
"""

from collections.abc import Iterable, Iterator

from reworkkit.model.board import Board
from reworkkit.model.check_sheet import CheckSheet
from reworkkit.model.designator import natural_key
from reworkkit.model.facts import SignalFacts
from reworkkit.model.measuring import Check, Expectation, Point
from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.values import Band, Quantity
from reworkkit.model.vocabulary import AlertLevel, BandBasis, CheckPurpose, Fit, Mode

_INPUT_KINDS = frozenset({"switch", "potentiometer"})
_OUTPUT_KINDS = frozenset({"led", "relay", "lamp", "buzzer", "motor"})
_INPUT_ALERTS = ((AlertLevel.CAUTION, message("checks-inputs-first")),)
_OUTPUT_ALERTS = (
    (AlertLevel.WARNING, message("checks-outputs-guarded")),
    (AlertLevel.CAUTION, message("checks-outputs-dummy-first")),
)


def input_checks(board: Board, refs: tuple[str, ...] = ()) -> CheckSheet:
    """Return the probes that try each input: its switch unpowered, then what [inputs] says must be seen.

    `refs` narrows the list to inputs at these places; none means all.
    """
    signals = _signals(board, board.facts.inputs, refs)
    parts = _parts(board, _INPUT_KINDS, refs)
    checks = [_switch(ref) for ref in parts if board.parts[ref].identity.kind == "switch"]
    checks += [_track(board, ref) for ref in parts if board.parts[ref].identity.kind == "potentiometer"]
    checks += [_signal(board, CheckPurpose.INPUT, name, one, message("checks-input-do", name=name, does=_does(one)))
               for name, one in signals]  # fmt: skip
    named = {_place(one.at) for _, one in signals}
    open_parts = [_unsaid(ref, "inputs") for ref in parts if ref not in named and _told_nothing(board, ref)]
    pins = [_unsaid(pin, "inputs") for pin in _unexplained_pins(board, refs)]
    return CheckSheet(CheckPurpose.INPUT, tuple(checks), _INPUT_ALERTS, (), (*open_parts, *pins))


def output_checks(board: Board, refs: tuple[str, ...] = ()) -> CheckSheet:
    """Return the probes that try each output: first on a lamp or a resistor, then on what it really drives."""
    checks: list[Check] = []
    signals = _signals(board, board.facts.outputs, refs)
    for name, one in signals:
        checks.append(_output(name, one, "dummy", message("checks-output-dummy", name=name, does=_does(one))))
    for ref in _parts(board, _OUTPUT_KINDS, refs):
        checks.append(_look(CheckPurpose.OUTPUT, ref, message("checks-output-part", ref=ref)))
    for name, one in signals:
        checks.append(_output(name, one, "load", message("checks-output-load", name=name)))
    return CheckSheet(CheckPurpose.OUTPUT, tuple(checks), _OUTPUT_ALERTS)


def _signals(
    board: Board, signals: dict[str, SignalFacts], refs: tuple[str, ...]
) -> tuple[tuple[str, SignalFacts], ...]:
    return tuple((name, one) for name, one in signals.items() if not refs or _place(one.at) in refs)


def _place(at: str | None) -> str:
    return (at or "").rpartition(".")[0] or (at or "")


def _does(one: SignalFacts) -> str:
    return one.does or "____"


def _parts(board: Board, kinds: frozenset[str], refs: tuple[str, ...]) -> list[str]:
    found = [ref for ref, part in board.parts.items() if part.fit is Fit.FIT and part.identity.kind in kinds]
    return sorted((ref for ref in found if not refs or ref in refs), key=natural_key)


def _look(purpose: CheckPurpose, at: str, why: Message) -> Check:
    return Check(f"{purpose}:{at}", purpose, Point(at, at), Mode.LOOK, None, None, None, (_place(at),), None, why, 0.5)


def _output(name: str, one: SignalFacts, stage: str, why: Message) -> Check:
    at = one.at or name
    key = f"{CheckPurpose.OUTPUT}:{name}:{stage}"
    return Check(key, CheckPurpose.OUTPUT, Point(at, at), Mode.LOOK, None, None, None, (_place(at),), None, why, 1.0)


def _switch(ref: str) -> Check:
    why = message("checks-switch-both", ref=ref)
    key = f"{CheckPurpose.INPUT}:{ref}:state"
    return Check(key, CheckPurpose.INPUT, Point(ref, ref), Mode.OHMS, None, None, None, (ref,), None, why, 0.5)


def _track(board: Board, ref: str) -> Check:
    """The whole track against its printed value, 20 % either way: the usual tolerance (common practice)."""
    value = board.parts[ref].identity.value.main
    expect: Expectation | None = None
    if value is not None and value.unit == "ohm":
        expect = Band(0.0, float(value.value), 1.2 * float(value.value), "ohm", BandBasis.TABLE)
    why = message("checks-track", ref=ref, value=value.text if value else "____")
    key = f"{CheckPurpose.INPUT}:{ref}:track"
    return Check(key, CheckPurpose.INPUT, Point(ref, ref), Mode.OHMS, None, expect, None, (ref,), None, why, 0.5)


def _signal(board: Board, purpose: CheckPurpose, name: str, one: SignalFacts, why: Message) -> Check:
    at = one.at or name
    expect = _range(board, at)
    mode = Mode.VOLTS if expect else Mode.LOOK
    return Check(f"{purpose}:{name}", purpose, Point(at, at), mode, None, expect, None, (_place(at),), None, why, 1.0)


def _range(board: Board, at: str) -> Band | None:
    """Return what the net of a pin may be at, where [nets] says so."""
    net = at if at in board.nets else next((p.net for (r, n), p in board.pins.items() if f"{r}.{n}" == at), None)
    said = board.facts.nets.get(net or "")
    if said is None:
        return None
    return Band(_float(said.low), None, _float(said.high), "V", BandBasis.STATED)


def _float(quantity: Quantity | None) -> float | None:
    return float(quantity.value) if quantity else None


def _told_nothing(board: Board, ref: str) -> bool:
    """Return whether no sentence of [inputs] or [outputs] names the part or pin."""
    sentences = [one.does or "" for one in (*board.facts.inputs.values(), *board.facts.outputs.values())]
    return not any(ref in text.replace(":", " ").replace(",", " ").split() for text in sentences)


def _unexplained_pins(board: Board, refs: tuple[str, ...]) -> Iterator[str]:
    """Yield the connector pins that are neither supply nor ground, nor named in [inputs], [outputs] or a program."""
    facts = board.facts
    used = {one.at for one in (*facts.inputs.values(), *facts.outputs.values())}
    whole = {_place(at) for at in used if at and "." not in at} | {one.at for one in facts.program}
    quiet = {*facts.supplies, *facts.rails, *facts.board.ground, *_returns(board, used)}
    quiet |= {facts.live.net} if facts.live and facts.live.net else set()
    for ref in _parts(board, frozenset({"connector", "terminal"}), refs):
        if ref in whole:
            continue
        for (owner, number), pin in board.pins.items():
            at = f"{ref}.{number}"
            if owner == ref and pin.net and pin.net not in quiet and at not in used and _told_nothing(board, at):
                yield at


def _returns(board: Board, used: Iterable[str | None]) -> set[str]:
    """Return the nets on which a named signal already stands: another pin of the same net needs no line of its own."""
    return {pin.net for (ref, n), pin in board.pins.items() if f"{ref}.{n}" in set(used) and pin.net}


def _unsaid(at: str, section: str) -> NotJudged:
    return NotJudged(
        (at,),
        message("checks-what-for", at=at),
        message("checks-nobody-said"),
        f'[{section}] "____" = {{ at = "{at}", does = "____" }}',
    )
