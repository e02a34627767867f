"""Goods in: what each bought part must read on a multimeter before it is used, out of circuit, with its band.

The bands hold for a bare part in the hand. What a multimeter cannot tell (a voltage rating, a genuine part) is said as
a look: the markings to expect. Two unlike readings in one bag: the whole bag is put aside.
"""

import math
import re
from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from reworkkit import tables
from reworkkit.model.board import Board
from reworkkit.model.check_sheet import CheckSheet
from reworkkit.model.designator import natural_key
from reworkkit.model.designator_list import in_short
from reworkkit.model.difference import Difference
from reworkkit.model.measuring import Check, Expectation, Point
from reworkkit.model.messages import Message, NotJudged, message
from reworkkit.model.part import PartIdentity
from reworkkit.model.quantity import parse_quantity
from reworkkit.model.value_marks import is_chip
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import AlertLevel, BandBasis, CheckPurpose, DiffStatus, Fit, Mode, ReadingForm

_BUY = (DiffStatus.MISSING, DiffStatus.TO_REPLACE)
_THERMAL_V = 0.02585
_TEST_A = 1e-3
"""Current of a usual diode test (from memory: 0.5 to 1.5 mA)."""
_NO_LOOK = ("connector", "terminal", "switch", "hardware", "heat_sink", "fuse_holder", "battery_holder")
"""Kinds of which neither a meter nor a marking says much: listed only when they are asked for."""
_ALERTS = (
    (AlertLevel.CAUTION, message("goods-in-static")),
    (AlertLevel.CAUTION, message("goods-in-alone")),
)


class _Bought(NamedTuple):
    """One kind of part bought, the places it is for, and what is printed on it."""

    board: Board
    identity: PartIdentity
    refs: tuple[str, ...]
    marks: tuple[str, ...]

    @property
    def name(self) -> str:
        """Return the part as it stands on the bag."""
        return self.identity.part_number or self.identity.value.text or self.identity.kind.replace("_", " ")


def goods_in_checks(
    board: Board, difference: Difference, marks: dict[str, tuple[str, ...]], refs: tuple[str, ...] = ()
) -> CheckSheet:
    """Return the readings to take of each bought part; `refs` asks for these places, else all missing or to replace.

    Where nobody has looked at the board yet, every part to fit is listed.
    """
    bought = {item.ref for item in difference.items if item.status in _BUY}
    if not bought:
        bought = {item.ref for item in difference.items if item.status is DiffStatus.NOT_INSPECTED}
    wanted = set(refs) or bought
    checks: list[Check] = []
    open_questions: list[NotJudged] = []
    for one in _groups(board, wanted, marks):
        found = list(_probes(one))
        if not found and (refs or not one.identity.kind.startswith(_NO_LOOK)):
            found = [_look(one)]
        checks += found
        if one.identity.kind == "unknown":
            open_questions.append(_unknown(one))
    return CheckSheet(CheckPurpose.GOODS_IN, tuple(checks), _ALERTS, (), tuple(open_questions))


def _groups(board: Board, wanted: Iterable[str], marks: dict[str, tuple[str, ...]]) -> Iterator[_Bought]:
    by_key: dict[str, list[str]] = {}
    for ref in sorted(wanted, key=natural_key):
        if ref in board.parts and board.parts[ref].fit is Fit.FIT:
            by_key.setdefault(board.parts[ref].identity.key, []).append(ref)
    for refs in by_key.values():
        part = board.parts[refs[0]]
        # Most ceramic chips carry nothing: a mark to look for would put good parts aside.
        bare = part.identity.kind == "capacitor_ceramic" and is_chip(part)
        yield _Bought(board, part.identity, tuple(refs), () if bare else marks.get(refs[0], ()))


def _unknown(one: _Bought) -> NotJudged:
    line = f'[parts] {one.refs[0]} = {{ kind = "____" }}'
    return NotJudged(one.refs, message("goods-in-asked"), message("goods-in-kind-not-known"), line)


def _check(
    one: _Bought, key: str, mode: Mode, expect: Expectation | None, swapped: Expectation | None, why: Message
) -> Check:
    marked = f", marked {', '.join(one.marks)}" if one.marks and one.name not in one.marks else ""
    point = Point(f"new {one.name} for {in_short(one.refs)}{marked}", one.refs[0])
    return Check(
        *(f"goods_in:{one.refs[0]}:{key}", CheckPurpose.GOODS_IN, point, mode, None, expect, swapped, one.refs),
        *(None, why, 0.5),
    )


def _look(one: _Bought) -> Check:
    return _check(
        one, "look", Mode.LOOK, None, None, message("goods-in-marking", marks=", ".join(one.marks) or one.name)
    )


def _probes(one: _Bought) -> Iterator[Check]:
    """Return the probes of a part; none where only its marking can be looked at."""
    kind = one.identity.kind
    for kinds, maker in _MAKERS:
        if kind in kinds or (kind.startswith("capacitor") and "capacitor" in kinds):
            return maker(one)
    return iter(())


def _through(one: _Bought) -> Iterator[Check]:
    most = _meter_zero(one, _most_ohm(one.identity.kind))
    yield _check(one, "ohms", Mode.OHMS, most, None, message("goods-in-through"))


def _winding(one: _Bought) -> Iterator[Check]:
    yield _check(one, "ohms", Mode.OHMS, _meter_zero(one, _most_ohm("inductor")), None, message("goods-in-winding"))


def _blocking(one: _Bought) -> Iterator[Check]:
    over = ReadingForm.OVER_RANGE
    yield _check(one, "diode", Mode.DIODE, over, over, message("goods-in-blocks-both"))


def _optocoupler(one: _Bought) -> Iterator[Check]:
    expect = _junction("led_infrared", _reach(one))
    yield _check(one, "led", Mode.DIODE, expect, ReadingForm.OVER_RANGE, message("goods-in-opto"))


def _meter(one: _Bought) -> tuple[float, float]:
    """Return the accuracy of ohms from [bench.meter]: per cent, and ohm added; 1 % where it is not told."""
    told = one.board.facts.bench.meter.ohms or "1 %"
    percent, plus = 1.0, 0.0
    for word in told.split("+"):
        if share := parse_quantity(word.strip(), "%"):
            percent = float(share.value)
        elif ohm := parse_quantity(word.strip(), "ohm"):
            plus = float(ohm.value)
    return percent, plus


def _ohms(one: _Bought) -> Iterator[Check]:
    value = one.identity.value
    if value.main is None or value.main.unit != "ohm":
        return
    ohm, (percent, plus) = float(value.main.value), _meter(one)
    if ohm == 0:
        yield _check(one, "ohms", Mode.OHMS, _meter_zero(one, 0.05), None, message("goods-in-through"))
        return
    if one.identity.kind == "thermistor":
        yield _check(one, "ohms", Mode.OHMS, _around(ohm, 30.0), None, message("goods-in-thermistor"))
        return
    usual = 20.0 if one.identity.kind == "potentiometer" else 5.0
    own = float(value.tolerance.value) if value.tolerance and value.tolerance.unit == "%" else usual
    band = _around(ohm, own + percent)
    expect = Band((band.low or 0.0) - plus - 0.2, ohm, (band.high or 0.0) + plus + 0.2, "ohm", BandBasis.WORST_CASE)
    yield _check(one, "ohms", Mode.OHMS, expect, None, message("goods-in-ohms", tolerance=own, meter=percent))


def _around(value: float, percent: float) -> Band:
    return Band(value * (1 - percent / 100), value, value * (1 + percent / 100), "ohm", BandBasis.WORST_CASE)


def _meter_zero(one: _Bought, most: float) -> Band:
    """Return the band of a part that is a through connection: its own most, and 0.3 ohm of leads and contact."""
    return Band(None, None, most + 0.3 + _meter(one)[1], "ohm", BandBasis.TABLE)


def _most_ohm(kind: str) -> float:
    """Return the most DC resistance a through part shows [ohm], from the table of circuit defaults."""
    keys = {"fuse": "fuse", "resettable_fuse": "resettable_fuse", "jumper": "link", "ferrite_bead": "ferrite_bead"}
    wanted = keys.get(kind, "inductor")
    return next(float(row["high"]) for row in tables.rows("circuit_defaults") if row["key"] == wanted)


def _capacitor(one: _Bought) -> Iterator[Check]:
    """A capacitor never reads as a through connection; large ones rise while the meter charges them."""
    value = one.identity.value.main
    if value is not None and value.unit == "F" and float(value.value) < 1e-8:
        yield _check(one, "ohms", Mode.OHMS, ReadingForm.OVER_RANGE, None, message("goods-in-small-capacitor"))
    else:
        yield _check(one, "ohms", Mode.OHMS, ReadingForm.RISING, None, message("goods-in-capacitor"))


def _reach(one: _Bought) -> float:
    """Return how far the meter's diode test reaches [V], by [bench.meter]; 2 V where it is not told."""
    told = one.board.facts.bench.meter.diode_test_limit
    return float(told.value) if told else 2.0


def _junction(key: str, reach: float) -> Expectation:
    """Return what a junction shows at the current of the diode test; over range where it needs more than the meter has.

    The table's drop is moved to 1 mA: dV = n kT/q ln(I/1 mA) + (I - 1 mA) Rs; 50 mV either way for meters' currents.
    """
    row = next(row for row in tables.rows("forward_drops") if row["key"] == key)
    amps, slope = float(row["at_a"]), float(row["ideality"]) * _THERMAL_V
    shift = slope * math.log(amps / _TEST_A) + (amps - _TEST_A) * float(row["series_ohm"])
    low, middle, high = (float(row[name]) - shift for name in ("low_v", "nominal_v", "high_v"))
    if low - 0.05 > reach:
        return ReadingForm.OVER_RANGE
    top = high + 0.05 if high + 0.05 < reach else None
    return Band(low - 0.05, middle, top, "V", BandBasis.TABLE)


def _diode_key(one: _Bought) -> str:
    kind, package = one.identity.kind, one.identity.package_text.upper()
    small = any(name in package for name in ("SOD", "SOT", "DO-35", "MELF"))
    if kind == "diode_schottky":
        return "schottky_small" if small else "schottky_power"
    return {"diode_zener": "zener_forward", "tvs_one_way": "tvs_forward"}.get(
        kind, "silicon_small" if small else "silicon_rectifier"
    )


def _diode(one: _Bought) -> Iterator[Check]:
    expect = _junction(_diode_key(one), _reach(one))
    volts = one.identity.value.main
    breaks = one.identity.kind == "diode_zener" and volts is not None and float(volts.value) * 0.95 < _reach(one)
    swapped: Expectation | None = None if breaks else ReadingForm.OVER_RANGE
    yield _check(one, "diode", Mode.DIODE, expect, swapped, message("goods-in-diode"))


def _led_key(one: _Bought) -> str:
    text = f"{one.identity.value.text} {one.identity.description}".casefold()
    words = set(text.replace(",", " ").split())
    for row in tables.rows("forward_drops"):
        if row["words"] and words & set(row["words"].split("|")):
            return row["key"]
    return "led_unknown"


def _led(one: _Bought) -> Iterator[Check]:
    expect = _junction(_led_key(one), _reach(one))
    yield _check(one, "diode", Mode.DIODE, expect, ReadingForm.OVER_RANGE, message("goods-in-led"))


def _mosfet(one: _Bought) -> Iterator[Check]:
    """The body diode with the gate joined to the source, and the gate open."""
    text = f"{one.identity.value.text} {one.identity.description}"
    p_channel = re.search(r"\b(?:p-?(?:channel|ch|mos|kanal))", text, re.IGNORECASE)
    body = _junction("body_diode", _reach(one))
    slug = message("goods-in-body-p") if p_channel else message("goods-in-body-n")
    yield _check(one, "body", Mode.DIODE, body, ReadingForm.OVER_RANGE, slug)
    over = ReadingForm.OVER_RANGE
    yield _check(one, "gate", Mode.OHMS, over, over, message("goods-in-gate"))


def _bipolar(one: _Bought) -> Iterator[Check]:
    pnp = "pnp" in f"{one.identity.value.text} {one.identity.description}".casefold()
    why = message("goods-in-base-pnp") if pnp else message("goods-in-base-npn")
    yield _check(one, "base", Mode.DIODE, _junction("silicon_small", _reach(one)), ReadingForm.OVER_RANGE, why)


_MAKERS: tuple[tuple[tuple[str, ...], Callable[[_Bought], Iterator[Check]]], ...] = (
    (("resistor", "fusible_resistor", "thermistor", "potentiometer"), _ohms),
    (("capacitor", "supercapacitor"), _capacitor),
    (("diode", "diode_schottky", "diode_zener", "tvs_one_way"), _diode),
    (("led",), _led),
    (("mosfet",), _mosfet),
    (("transistor_bipolar",), _bipolar),
    (("fuse", "jumper", "ferrite_bead", "resettable_fuse"), _through),
    (("inductor", "common_mode_choke"), _winding),
    (("tvs_two_way", "varistor"), _blocking),
    (("optocoupler",), _optocoupler),
)
