"""Flip-flops, latches, counters, timers: outputs that set, clear and reset pins hold, and that else stay."""

from collections.abc import Iterator

from reworkkit import tables
from reworkkit.compute.circuit.chips import between, driver, level
from reworkkit.compute.circuit.feedback import is_used
from reworkkit.compute.circuit.figures import exact
from reworkkit.compute.circuit.logic import kind_of
from reworkkit.compute.circuit.own_draw import own_draw
from reworkkit.compute.circuit.pin_roles import known_pins, numbers, row_of
from reworkkit.compute.circuit.transistor_cores import inner
from reworkkit.compute.circuit.wiring import Wiring
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import INNER, Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_DRIVES = {"1": 1.0, "0": 0.0, "Z": -1.0}
_LEVELS = {"H": 1.0, "L": -1.0}
RESET_V = 0.7
"""Voltage below which the reset pin of a 555 holds its output low: 0.4 to 1.0 V (sheet, from memory)."""
_DIVIDER_PERCENT = 30.0
_USUAL_V = 5.0


def flip_flops(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return the outputs of a flip-flop, latch or counter with the rules that hold them; None for other parts.

    By the usual pin numbers of its type; outputs that clocks move are not known.
    """
    kind = next(filter(None, map(kind_of, numbers(part))), None)
    if kind is None or not all(pin.number.isdigit() for pin in wiring.pins(part.ref)):
        return None
    rows = [row for row in tables.rows("logic_latches") if kind.key in row["digits"].split("|")]
    row = next((one for one in rows if int(one["pins"]) >= known_pins(part, wiring)), None)
    if row is None:
        return None
    high, low = (wiring.number(part, number) for number in row["supply"].split())
    if high is None or low is None or high == low:
        return None
    found: list[Element] = []
    threshold = {} if kind.volts is None else {"threshold": exact(kind.volts, "V")}
    told = (message("circuit-role-by-type", ref=part.ref), message("circuit-latch", ref=part.ref))
    for output in row["outputs"].split("|"):
        number, *rules = output.split()
        out = wiring.number(part, number)
        if out is None or out == low or not is_used(wiring, out):
            continue
        found.append(driver(wiring, part.ref, out, high, low, kind.ohms))
        found += [_of_pins(wiring, part, out, rule, threshold, told) for rule in rules]
    return [*between(wiring, part.ref, [high], low), *found]


def _of_pins(
    wiring: Wiring, part: Part, out: str, text: str, threshold: dict[str, Band], told: tuple[Message, ...]
) -> Element:
    """Return the rule that a cell writes as `1:4L&3H`."""
    drives, _, pins = text.partition(":")
    ends = [(pin[:-1], pin[-1]) for pin in pins.split("&")]
    nodes = [wiring.number(part, number) or f"{part.ref}.{number}" for number, _ in ends]
    levels = [_LEVELS[level] for _, level in ends]
    return _rule(part, out, _DRIVES[drives], nodes, levels, threshold, told=told)


def _rule(
    part: Part,
    out: str,
    drives: float,
    nodes: list[str],
    levels: list[float],
    more: dict[str, Band],
    pulls_up: float = 1.0,
    told: tuple[Message, ...] = (),
) -> Element:
    figures = {"drives": exact(drives, "1"), "pulls_up": exact(pulls_up, "1"), **more}
    figures |= {f"level{n}": exact(one, "1") for n, one in enumerate(levels, 1)}
    return Element("rule", part.ref, (out, *nodes), figures, told)


def timer(wiring: Wiring, part: Part) -> list[Element] | None:
    """Return a timer of the 555 family: supply current, divider, and its outputs where inputs hold them.

    None for other parts. Output and discharge pin are low while reset is low, or threshold is above and trigger above
    theirs; high and open while trigger is below a third. Else they are not known, as with one that swings; but one
    whose threshold and discharge pins hang together, apart from its trigger, ends each pulse by itself: it rests low.
    """
    row = row_of("timers", part)
    if row is None or not all(pin.number.isdigit() for pin in wiring.pins(part.ref)):
        return None
    found: list[Element] = []
    for place, order in enumerate(row["units"].split("|"), 1):
        found += _unit(wiring, part, row, place, order.split())
    if not found:
        return None
    ground, *_, supply = row["units"].split("|")[0].split()
    high, low = wiring.number(part, supply) or "", wiring.number(part, ground) or ""
    volts = level(wiring, high) or _USUAL_V
    least, usual, most = (volts / float(word) for word in row["draw_ohm"].split()[::-1])
    current = Band(least, usual, most, "A", BandBasis.TABLE)
    return [*between(wiring, part.ref, [high], low), *own_draw(wiring, part.ref, high, low, current), *found]


def _unit(wiring: Wiring, part: Part, row: tables.Row, place: int, order: list[str]) -> list[Element]:
    low, trigger, out, reset, control, threshold, discharge, high = (wiring.number(part, one) for one in order)
    if high is None or low is None or high == low:
        return []
    used = [net if net and is_used(wiring, net) else None for net in (trigger, out, reset, threshold, discharge)]
    trigger, out, reset, threshold, discharge = used
    if not any(used):
        return []
    control = control or f"{part.ref}.control{place}{INNER}"
    tap, ohm = f"{part.ref}.third{place}{INNER}", float(row["divider_ohm"])
    steps = ((high, control), (control, tap), (tap, low))
    found = [inner(part.ref, one, other, ohm, _DIVIDER_PERCENT) for one, other in steps]
    top = high
    if row["form"] == "bipolar" and out:
        top = f"{part.ref}.top{place}{INNER}"
        found.append(Element("inner_diode", part.ref, (high, top), wiring.drop("timer_top")))
    if row["form"] == "bipolar" and trigger and trigger not in (high, low):
        found.append(Element("inner", part.ref, (high, trigger), {"resistance": _trigger_ohm(wiring, high)}))
    one_shot = trigger is not None and threshold is not None and threshold == discharge != trigger
    ends = (reset, trigger, tap, (tap, trigger) if one_shot else (control, threshold))
    told = (message("circuit-role-by-type", ref=part.ref), message("circuit-timer", ref=part.ref))
    if out and out not in (high, low):
        found.append(driver(wiring, part.ref, out, top, low, *(["timer_output"] if top != high else [])))
        found += _held(part, out, ends, 1.0, told)
    if discharge and discharge not in (high, low, out):
        found.append(driver(wiring, part.ref, discharge, discharge, low))
        found += _held(part, discharge, ends, 0.0, told)
    return found


_TRIGGER_A = (1e-6, 4e-7, 5e-8)
"""Most, usual and least current that a low trigger of a bipolar timer gives (memory: 0.5 uA, 2 at most)."""


def _trigger_ohm(wiring: Wiring, high: str) -> Band:
    """Return the way from the supply by which a low trigger is lifted a little."""
    low, usual, most = ((level(wiring, high) or _USUAL_V) / amps for amps in _TRIGGER_A)
    return Band(low, usual, most, "ohm", BandBasis.TABLE)


def _held(
    part: Part,
    out: str,
    ends: tuple[str | None, str | None, str, tuple[str, str | None]],
    up: float,
    told: tuple[Message, ...],
) -> Iterator[Element]:
    """Yield the rules of an output: reset, then trigger below a third, then what of two nets being above clears it."""
    reset, trigger, tap, (lower, upper) = ends
    below = {"below": exact(1.0, "1")}
    high = 1.0 if up else -1.0
    if reset:
        yield _rule(part, out, 0.0, [reset], [-1.0], {"threshold": exact(RESET_V, "V")}, up, told)
    if trigger:
        yield _rule(part, out, high, [trigger, tap], [], below, up, told)
    if upper:
        yield _rule(part, out, 0.0, [lower, upper], [], below, up, told)
