"""The lines about one part: which way round, and what heat its joints ask; nothing the records do not know."""

import json
import math
from collections.abc import Mapping, Sequence

from reworkkit.model.board import Board, seen_from
from reworkkit.model.measuring import Check, Expectation
from reworkkit.model.messages import Message
from reworkkit.model.netlist import Pad
from reworkkit.model.results import HeatDemand, OrientationVerdict, SetUp
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import HeatBasis, PolarityVerdict, ReadingForm, Side
from reworkkit.show.sheet import Line, MeterLine
from reworkkit.show.sheet_words import (
    DIRECTIONS,
    FACES_BASES,
    FORMS,
    HEAT_CLASSES,
    HONESTIES,
    MODES,
    Speaker,
    element_id,
)
from reworkkit.show.texts import band_text

HIGHEST_SETTING_C = 380
"""No tip setting above this is ever printed: a bigger tip, preheat, or not with this iron."""


def mark_line(verdict: OrientationVerdict, speaker: Speaker) -> Line | None:
    """Return the mark rule of the part's construction, `band = cathode`, or that there is none to go by."""
    if verdict.verdict is PolarityVerdict.NOT_POLARISED:
        return None
    mark = verdict.mark
    if mark is None:
        return Line(speaker.text("page-mark-unknown"), "doubt")
    trust = speaker.say(HONESTIES[mark.source.honesty])
    if mark.terminal == "none":
        return Line(speaker.text("page-mark-none"), "plain")
    if not mark.reliable or mark.terminal == "unknown":
        return Line(speaker.text("page-mark-doubt", mark=mark.mark), "doubt")
    terminal = mark.terminal.replace("_", " ")
    return Line(speaker.text("page-mark-rule", mark=mark.mark, terminal=terminal, trust=trust), "rule")


def facing_lines(
    verdict: OrientationVerdict, pads: Mapping[tuple[str, str], str], speaker: Speaker
) -> tuple[Line, ...]:
    """Return what is known about which way round a part goes; `pads` holds pad directions by (ref, pin)."""
    if verdict.verdict is PolarityVerdict.NOT_POLARISED:
        return ()
    lines = [mark_line(verdict, speaker)]
    if verdict.note:
        where = f" ({verdict.where})" if verdict.where else ""
        lines.append(Line(speaker.text("page-note", note=verdict.note) + where, "plain"))
    basis = speaker.say(FACES_BASES[verdict.faces_basis])
    for role, thing in verdict.faces.items():
        lines.append(Line(speaker.text("page-faces", role=_role(role), thing=thing, basis=basis), "plain"))
    for role, (pin, net) in verdict.needs.items():
        direction = pads.get((verdict.ref, pin), "")
        lines.append(Line(speaker.text("page-needs", role=_role(role), pin=pin, net=net) + direction, "plain"))
    contradicted = verdict.verdict is PolarityVerdict.CONTRADICTS
    lines.append(Line(speaker.say(verdict.why), "doubt" if contradicted else "plain"))
    if contradicted:
        lines.append(Line(speaker.text("page-meter-first"), "doubt"))
    if verdict.question:
        lines.append(Line(speaker.say(verdict.question.question), "ask"))
        if verdict.question.answer:
            lines.append(Line(speaker.text("page-answer", line=verdict.question.answer), "ask"))
    return tuple(dict.fromkeys(line for line in lines if line and line.text))


def _role(role: str) -> str:
    return role.replace("_", " ")


def pad_directions(board: Board, refs: Sequence[str], speaker: Speaker) -> dict[tuple[str, str], str]:
    """Return for each pin of the parts named where its pad lies from the middle of the others, in words."""
    wanted = set(refs)
    pins: dict[str, dict[str, tuple[Pad, ...]]] = {}
    for (ref, number), pin in board.pins.items():
        if ref in wanted and pin.pads:
            pins.setdefault(ref, {})[number] = pin.pads
    return {
        (ref, number): speaker.text("page-pad-direction", direction=words)
        for ref, numbered in pins.items()
        if ref in board.placements
        for number, words in _directions(board.placements[ref].side, numbered, speaker).items()
    }


def _directions(side: Side, pins: dict[str, tuple[Pad, ...]], speaker: Speaker) -> dict[str, str]:
    middles = {number: _middle(side, pads) for number, pads in pins.items()}
    said: dict[str, str] = {}
    for number, (x, y) in middles.items():
        others = [middle for other, middle in middles.items() if other != number]
        if not others:
            continue
        away_x = x - sum(ox for ox, _ in others) / len(others)
        away_y = y - sum(oy for _, oy in others) / len(others)
        if math.hypot(away_x, away_y) > 0:
            said[number] = speaker.say(DIRECTIONS[eighth_of_turn(away_x, away_y)])
    return said


def eighth_of_turn(right: float, up: float) -> int:
    """Return the nearest eighth of a turn of a direction, counted from the right, counter-clockwise.

    >>> eighth_of_turn(1, 0), eighth_of_turn(0, 2), eighth_of_turn(-3, 0.1), eighth_of_turn(1, -1)
    (0, 2, 4, 7)
    """
    return round(math.atan2(up, right) / (math.pi / 4)) % 8


def _middle(side: Side, pads: tuple[Pad, ...]) -> tuple[float, float]:
    x = sum(pad.x_mm for pad in pads) / len(pads)
    return seen_from(side, x, sum(pad.y_mm for pad in pads) / len(pads))


def heat_lines(demand: HeatDemand | None, setup: SetUp, speaker: Speaker) -> tuple[Line, ...]:
    """Return the heat class and the computed window of a joint for the operation's set-up, else for all set-ups."""
    if demand is None:
        return ()
    word = speaker.say(HEAT_CLASSES[demand.heat_class])
    slug = "page-heat-by-class" if demand.basis is HeatBasis.CLASS else "page-heat-computed"
    lines = [Line(speaker.say(Message(slug, (("heat", word),))), "plain")]
    fitting = [window for window in demand.windows if _same_tool(window[0], setup)]
    lines += [_window(*window, speaker) for window in fitting or demand.windows]
    chosen_c = setup.setting_c
    printed = chosen_c is not None and chosen_c <= HIGHEST_SETTING_C
    if chosen_c is not None and printed and not all(low <= chosen_c <= high for _, low, high in fitting):
        lines.append(Line(speaker.text("page-heat-other-setting", degrees=chosen_c), "doubt"))
    if demand.reachable is False:
        lines.append(Line(speaker.text("page-heat-not-reached"), "doubt"))
    if demand.remedy:
        lines.append(Line(speaker.say(demand.remedy), "plain"))
    return tuple(dict.fromkeys(lines))


def _same_tool(one: SetUp, other: SetUp) -> bool:
    return (one.tip, one.preheat_c) == (other.tip, other.preheat_c)


def _window(setup: SetUp, low_c: int, high_c: int, speaker: Speaker) -> Line:
    """Return what a tip may be set to: from what the joint needs to what part and board allow, never above 380 C."""
    tool = setup_words(setup, speaker)
    high_c = min(high_c, HIGHEST_SETTING_C)
    if low_c > high_c:
        return Line(speaker.text("page-heat-no-window", tool=tool), "doubt")
    return Line(speaker.text("page-heat-window", tool=tool, low=low_c, high=high_c), "plain")


def setup_words(setup: SetUp, speaker: Speaker) -> str:
    """Return tip and preheat of a set-up in words."""
    words = [setup.tip or setup.tool or speaker.text("page-any-tip")]
    if setup.preheat_c is not None:
        words.append(speaker.text("page-preheat-at", degrees=setup.preheat_c))
    return ", ".join(words)


def meter_line(check: Check, place: str, speaker: Speaker) -> MeterLine:
    """Return one probe in words; `place` makes its key unique on the page."""
    return MeterLine(
        f"meter-{element_id(place)}-{element_id(check.id)}",
        check.point.text,
        check.mode.value,
        speaker.say(MODES[check.mode]),
        _expected(check.expect, speaker),
        _expected(check.swapped, speaker) if check.swapped != check.expect else "",
        speaker.say(check.why),
        check.hold_point or "",
        json.dumps({"expect": _rule(check.expect), "swapped": _rule(check.swapped)}, separators=(",", ":")),
    )


def _rule(expect: Expectation | None) -> object:
    if isinstance(expect, Band):
        return {"low": expect.low, "high": expect.high, "unit": expect.unit}
    return expect.value if expect else None


def _expected(expect: Expectation | None, speaker: Speaker) -> str:
    if expect is None:
        return ""
    return speaker.say(FORMS[expect]) if isinstance(expect, ReadingForm) else band_text(expect)
