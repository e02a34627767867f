"""The lines about one part: which way round, and what heat its joints ask; nothing the records do not know."""

import json

from reworkkit.model.measuring import Check, Expectation, Judgement
from reworkkit.model.messages import Message
from reworkkit.model.results import HeatDemand, OrientationVerdict, SetUp
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import HeatBasis, PolarityVerdict, ReadingForm, ReadingVerdict
from reworkkit.show.sheet import Line, MeterLine
from reworkkit.show.sheet_readings import NOTHING_READ, Known
from reworkkit.show.sheet_way import Angles, direction_words
from reworkkit.show.sheet_words import (
    FACES_BASES,
    FORMS,
    HEAT_CLASSES,
    HONESTIES,
    MODES,
    READ_AS,
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


def needs_line(verdict: OrientationVerdict, angles: Angles, speaker: Speaker) -> Line | None:
    """Return which end the circuit wants on which pad, and where that pad lies; the marked end comes first."""
    marked = verdict.mark.terminal if verdict.mark else ""
    ends = sorted(verdict.needs.items(), key=lambda end: end[0] != marked)
    said = [_end(verdict.ref, role, pin, net, angles, speaker) for role, (pin, net) in ends]
    return Line(speaker.text("page-needs", ends="; ".join(said)), "rule") if said else None


def _end(ref: str, role: str, pin: str, net: str, angles: Angles, speaker: Speaker) -> str:
    angle = angles.get((ref, pin))
    where = "" if angle is None else speaker.text("page-pad-direction", direction=direction_words(angle, speaker))
    named = speaker.text("page-needs-net", net=net) if net else ""
    return speaker.text("page-needs-end", role=_role(role), pin=pin) + where + named


def short_facing_lines(verdict: OrientationVerdict, angles: Angles, speaker: Speaker) -> tuple[Line, ...]:
    """Return what must be in sight with the part in hand: the mark, the pads, and every doubt; no open question."""
    kept = {"rule", "doubt"}
    return tuple(line for line in facing_lines(verdict, angles, speaker) if line.look in kept)


def facing_lines(verdict: OrientationVerdict, angles: Angles, speaker: Speaker) -> tuple[Line, ...]:
    """Return what is known about which way round a part goes."""
    if verdict.verdict is PolarityVerdict.NOT_POLARISED:
        return ()
    lines = [mark_line(verdict, speaker)]
    if verdict.note:
        where = f" ({verdict.where})" if verdict.where else ""
        lines.append(Line(speaker.text("page-note", note=verdict.note) + where, "plain"))
    basis = speaker.say(FACES_BASES[verdict.faces_basis])
    for role, thing in verdict.faces.items():
        look = "plain" if verdict.needs else "rule"
        lines.append(Line(speaker.text("page-faces", role=_role(role), thing=thing, basis=basis), look))
    lines.append(needs_line(verdict, angles, speaker))
    contradicted = verdict.verdict is PolarityVerdict.CONTRADICTS
    lines.append(Line(speaker.say(verdict.why), "doubt" if contradicted else "plain"))
    if contradicted:
        lines.append(Line(speaker.text("page-meter-first"), "doubt"))
    if question := verdict.question:
        asked = speaker.text("page-answer", line=question.answer) if question.answer else speaker.say(question.question)
        lines.append(Line(asked, "ask"))
    return tuple(dict.fromkeys(line for line in lines if line and line.text))


def _role(role: str) -> str:
    return role.replace("_", " ")


def heat_lines(demand: HeatDemand | None, setup: SetUp, speaker: Speaker) -> tuple[Line, ...]:
    """Return the heat class and the computed window of a joint for the operation's set-up, else for all set-ups."""
    if demand is None:
        return ()
    word = speaker.say(HEAT_CLASSES[demand.heat_class])
    slug = "page-heat-by-class" if demand.basis is HeatBasis.CLASS else "page-heat-computed"
    fitting = [window for window in demand.windows if _same_tool(window[0], setup)]
    windows = tuple(dict.fromkeys(_window(*window, speaker) for window in fitting or demand.windows))
    open_windows = [line.text for line in windows if line.look == "plain"]
    lines = [Line("; ".join((speaker.say(Message(slug, (("heat", word),))), *open_windows)), "plain")]
    lines += [line for line in windows if line.look != "plain"]
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


def meter_line(check: Check, place: str, speaker: Speaker, known: Known = NOTHING_READ) -> MeterLine:
    """Return one probe in words, with what the job already read there; `place` makes its key unique on the page."""
    read = known.of(check)
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
        _read_words(read, speaker) if read else "",
        read is not None and read.verdict is ReadingVerdict.OUTSIDE,
    )


def _read_words(read: Judgement, speaker: Speaker) -> str:
    verdict = speaker.say(READ_AS[read.verdict])
    swapped = speaker.text("page-read-swapped") if read.reading.leads_swapped else ""
    return speaker.text("page-read-in-job", reading=read.reading.text, verdict=verdict) + swapped


def _rule(expect: Expectation | None) -> object:
    if isinstance(expect, Band):
        return {"low": expect.low, "high": expect.high, "unit": expect.unit}
    return expect.value if expect else None


def _expected(expect: Expectation | None, speaker: Speaker) -> str:
    if expect is None:
        return ""
    return speaker.say(FORMS[expect]) if isinstance(expect, ReadingForm) else band_text(expect)
