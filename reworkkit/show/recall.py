"""What the job commands print: plain text that fits 80 columns, without colours and without a table library."""

import textwrap
from collections.abc import Iterable, Iterator

from reworkkit.model.designator_list import in_short
from reworkkit.model.job import Event
from reworkkit.model.job_view import (
    CopyStatus,
    Done,
    HoldState,
    JobInfo,
    Merged,
    NextSteps,
    OperationRow,
    Progress,
    Refreshed,
    Status,
)
from reworkkit.model.measuring import Reading
from reworkkit.model.messages import Message, message
from reworkkit.show.errors import plain
from reworkkit.show.quick_words import quick_sentence

WIDTH = 80
BAR = 20
Lines = Iterator[str]


def status_text(status: Status, language: str = "en", every: bool = False) -> str:
    """Return how the job stands: open items first, then progress with a bar a group, then what comes next."""
    return _joined(_status_lines(status, Words(language), every))


def next_text(steps: Iterable[NextSteps], language: str = "en") -> str:
    """Return what comes next, per copy."""
    steps = tuple(steps)
    words = Words(language)
    return _joined(line for one in steps for line in _next_lines(one, words, len(steps) > 1))


def history_text(events: Iterable[tuple[Event, bool]], language: str = "en") -> str:
    """Return events as lines: number, time, who, what; those that were taken back say so."""
    words = Words(language)
    lines = [_event_line(event, undone, words) for event, undone in events]
    return _joined(lines or [words.say("history-empty")])


def done_text(done: Done, language: str = "en") -> str:
    """Return what was recorded, what remains for each place, and what is to be said about it."""
    return _joined(_done_lines(done, Words(language)))


def begun_text(info: JobInfo, language: str = "en", following: str = "reworkkit next") -> str:
    """Return what is said when a job has begun, and which command comes next."""
    words = Words(language)
    begun = words.say("job-begun", board=info.board_name, copies=info.copies)
    return _joined([begun, "", words.say("next-command", command=following)])


def undone_text(done: Done, language: str = "en") -> str:
    """Return what was taken back."""
    words = Words(language)
    return _joined([words.say("taken-back"), *(_event_line(event, False, words) for event in done.events)])


def merged_text(merged: Merged, language: str = "en") -> str:
    """Return what a merge did, and what two devices disagree on."""
    words = Words(language)
    lines = [words.say("merged", new=merged.new, known=merged.known)]
    if merged.other_plan:
        lines.append(words.say("merged-other-plan"))
    lines += [f"! {words.of(one.message)}" for one in merged.disagreements]
    return _joined(lines)


def refreshed_text(found: Refreshed, language: str = "en") -> str:
    """Return how the inputs differ from the job, which ticks stay, and which no longer apply."""
    return _joined(_refreshed_lines(found, Words(language)))


class Words:
    """The sentences of one language, safe for a terminal."""

    def __init__(self, language: str) -> None:
        self.language = language

    def of(self, what: Message) -> str:
        """Return the sentence of a message."""
        return plain(quick_sentence(what, self.language))

    def say(self, slug: str, **facts: str | int | float) -> str:
        """Return the sentence of a slug with these facts."""
        return self.of(message(slug, **facts))


def _joined(lines: Iterable[str]) -> str:
    return "\n".join(wrapped for line in lines for wrapped in _wrapped(line))


def _wrapped(line: str) -> list[str]:
    if len(line) <= WIDTH:
        return [line]
    indent = " " * (len(line) - len(line.lstrip()) + 2)
    return textwrap.wrap(line, WIDTH, subsequent_indent=indent, break_on_hyphens=False) or [line]


def _status_lines(status: Status, words: Words, every: bool) -> Lines:
    yield words.say("status-head", board=status.info.board_name, event=status.at_event)
    for one in status.copies:
        if len(status.copies) > 1 or one.serial:
            yield ""
            yield words.say("status-copy", copy=one.copy, serial=one.serial or "-")
        yield from _copy_lines(one, words)
    if status.shared:
        yield ""
        yield words.say("status-shared")
        yield from (f"  ! {words.of(one.message)}" for one in status.shared)
    if every:
        yield ""
        yield from _readings_table(status.copies, words)
    yield ""
    yield words.say("status-next-command")


def _copy_lines(one: CopyStatus, words: Words) -> Lines:
    if one.pause is not None:
        yield from _pause_lines(one.pause, words)
    if one.open_items:
        yield words.say("status-open", count=len(one.open_items))
        yield from (f"  ! {words.of(item.message)}" for item in one.open_items)
    else:
        yield words.say("status-nothing-open")
    waiting = next((hold for hold in one.holds if not hold.passed), None)
    for hold in one.holds:
        lines = tuple(_hold_lines(hold, words))
        yield from lines if hold is waiting else lines[:1]
    if one.progress:
        yield words.say("status-progress")
        labels = {group.group: words.say(group.group) for group in one.progress}
        width = min(42, max(map(len, labels.values())))
        yield from (f"  {_bar_line(labels[group.group], width, group)}" for group in one.progress)
    yield from _lacks(one.plan_lacks, words)
    if one.next_operation is not None:
        yield f"{words.say('status-next')} {_operation_title(one.next_operation, words)}"


def _lacks(refs: Iterable[str], words: Words) -> Lines:
    if held := in_short(refs):
        yield words.say("plan-lacks", refs=held)


def _bar_line(label: str, width: int, group: Progress) -> str:
    return f"{label[:width]:<{width}} {bar(group.done, group.total)} {group.done} of {group.total}"


def bar(done: int, total: int, width: int = BAR) -> str:
    """Return a bar; it is full only when all is done, and empty only when nothing is.

    >>> bar(1, 1000, 10), bar(999, 1000, 10)
    ('[#.........]', '[#########.]')
    """
    filled = width if done >= total else min(width - 1, max(int(done > 0), done * width // max(total, 1)))
    return f"[{'#' * filled}{'.' * (width - filled)}]"


def _hold_lines(hold: HoldState, words: Words) -> Lines:
    yield words.say("hold-line", name=hold.name, state=words.say(f"hold-state-{hold.state.replace('_', '-')}"))
    yield from (f"    {words.of(why)}" for why in (*hold.why, *hold.notices))


def _pause_lines(pause: Event, words: Words) -> Lines:
    detail = pause.detail
    yield words.say("paused", at=pause.at, who=pause.who or "-", text=str(detail.get("text") or "-"))
    for slug, key in (("paused-tacked", "tacked"), ("paused-lifted", "leg_lifted")):
        refs = detail.get(key)
        if isinstance(refs, list) and refs:
            yield f"  {words.say(slug, refs=in_short(map(str, refs)))}"


def _operation_title(row: OperationRow, words: Words) -> str:
    return f"{row.n}. {words.of(row.title)} {_subjects(row.open_subjects)}"


def _subjects(subjects: Iterable[str]) -> str:
    return in_short(subjects)


def _next_lines(one: NextSteps, words: Words, several: bool) -> Lines:
    if several:
        yield words.say("status-copy", copy=one.copy, serial="-")
    if one.pause is not None:
        yield from _pause_lines(one.pause, words)
    yield from _lacks(one.plan_lacks, words)
    if not one.operations:
        yield words.say("next-nothing")
        return
    for row in one.operations:
        yield from _operation_lines(row, words)
        if row.kind == "hold_point":
            yield f"   {words.say('next-figures', name=row.open_subjects[0])}"
            yield from (
                line for hold in one.holds if hold.name in row.open_subjects for line in _hold_lines(hold, words)
            )
    hands = sum(row.duration_s or 0 for row in one.operations) / 60
    if one.asked_s is not None:
        yield words.say("next-minutes", minutes=round(hands), asked=round(one.asked_s / 60))
    if one.left:
        yield words.say("next-left", count=one.left)
    yield words.say("next-read" if one.operations[-1].kind == "hold_point" else "next-tick")


def _operation_lines(row: OperationRow, words: Words) -> Lines:
    for level, text in row.alerts:
        yield f"{words.say(f'level-{level}')} {words.of(text)}"
    yield _operation_title(row, words)
    if row.kind != "inspect" and (setup := _setup(row, words)):
        yield f"   {setup}"
    yield from (f"   {words.of(why)}" for why in row.why)
    if row.kind == "prove_place":
        yield f"   {words.say('next-probes', refs=in_short(row.open_subjects))}"


def _setup(row: OperationRow, words: Words) -> str:
    setup = row.setup
    said = [str(setup[key]) for key in ("tool", "tip") if setup.get(key)]
    if setup.get("setting_c") is not None:
        said.append(words.say("setup-setting", degrees=str(setup["setting_c"])))
    if setup.get("preheat_c") is not None:
        said.append(words.say("setup-preheat", degrees=str(setup["preheat_c"])))
    if setup.get("side"):
        said.append(words.say("setup-side", side=str(setup["side"])))
    return ", ".join(said)


def _done_lines(done: Done, words: Words) -> Lines:
    for ticked in done.ticked:
        kinds = ", ".join(kind.replace("_", " ") for kind in ticked.kinds)
        remain = ", ".join(kind.replace("_", " ") for kind in ticked.remain)
        slug = "ticked-remain" if remain else "ticked"
        yield words.say(slug, ref=ticked.subject, kinds=kinds, remain=remain)
    states = [event for event in done.events if event.kind.value == "state"]
    if states and len(states) == len(done.events):
        yield from _state_lines(states, words)
    elif not done.ticked:
        yield from (_event_line(event, False, words) for event in done.events)
    yield from (words.of(notice) for notice in done.notices)


def _state_lines(events: list[Event], words: Words) -> Lines:
    """Return one line for places that were set alike."""
    facets: dict[str, list[str]] = {}
    for event in events:
        said = f"{event.detail['facet']} {event.detail['value']}".replace("_", " ")
        facets.setdefault(plain(event.subject), []).append(said)
    alike: dict[str, list[str]] = {}
    for ref, said_of in facets.items():
        alike.setdefault(", ".join(said_of), []).append(ref)
    yield from (words.say("set-done", refs=in_short(refs), facets=said) for said, refs in alike.items())


def _refreshed_lines(found: Refreshed, words: Words) -> Lines:
    if not found.changed:
        yield words.say("refresh-same")
        return
    for one in (*found.files, *found.places, *found.found):
        yield f"  {words.of(one)}"
    for slug, steps in (("refresh-steps-new", found.steps_new), ("refresh-steps-gone", found.steps_gone)):
        if steps:
            yield words.say(slug, count=len(steps), steps=_step_list(steps))
    if found.new_readings:
        yield words.say("refresh-readings", count=found.new_readings)
    yield words.say("refresh-ticks-kept", count=found.ticks_kept)
    for copy, kind, subject in found.ticks_lost:
        yield f"  {words.say('refresh-tick-lost', copy=copy, kind=kind.replace('_', ' '), ref=subject)}"
    yield words.say("refresh-accepted" if found.accepted else "refresh-how")


def _step_list(steps: Iterable[tuple[str, str]]) -> str:
    by_kind: dict[str, list[str]] = {}
    for kind, subject in steps:
        by_kind.setdefault(kind.replace("_", " "), []).append(subject)
    return "; ".join(f"{kind} {in_short(subjects)}" for kind, subjects in by_kind.items())


def _readings_table(copies: tuple[CopyStatus, ...], words: Words) -> Lines:
    """Return the newest readings of all copies side by side."""
    rows: dict[tuple[str, ...], dict[int, str]] = {}
    for one in copies:
        for reading in one.readings:
            rows.setdefault(_reading_key(reading, words), {})[one.copy] = reading.text
    if not rows:
        yield words.say("status-no-readings")
        return
    yield words.say("status-readings")
    cells = [
        ["", *(f"#{one.copy}" for one in copies)],
        *(["  ".join(key), *(texts.get(one.copy, "-") for one in copies)] for key, texts in rows.items()),
    ]
    widths = [max(len(row[column]) for row in cells) for column in range(len(copies) + 1)]
    for row in cells:
        yield "  " + "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip()


def _reading_key(reading: Reading, words: Words) -> tuple[str, ...]:
    stage = reading.hold_point or words.say("stage-off")
    return (plain(reading.point), reading.mode.value, stage, *(["<->"] if reading.leads_swapped else []))


def _event_line(event: Event, undone: bool, words: Words) -> str:
    what = words.say(f"event-{event.kind.value}", subject=plain(event.subject) or "-", text=_event_text(event, words))
    back = f" {words.say('event-taken-back')}" if undone else ""
    number = f"{event.seq}" if event.seq else "-"
    return f"{number:>5}  {event.at}  {plain(event.who) or '-'}  #{event.copy}  {what.rstrip()}{back}"


def _event_text(event: Event, words: Words) -> str:
    detail = event.detail
    kind = event.kind.value
    if kind == "state":
        said = _spaced(f"{detail['facet']} {detail['value']}")
    elif kind == "found" and isinstance(facets := detail.get("facets"), dict):
        nothing = (
            "good",
            "none",
            "not_needed",
            *(("not_checked", "factory") if facets.get("place") == "empty" else ()),
        )
        said = _spaced(", ".join(str(value) for value in facets.values() if value not in nothing))
    elif kind == "snapshot":
        said = ""
    else:
        said = " ".join(
            _spaced(str(detail[key])) if key in _CODED else str(detail[key])
            for key in _TOLD
            if detail.get(key) and not isinstance(detail[key], dict)
        )
        if unread := detail.get("without_reading"):
            said += words.say("event-without-reading", points=str(unread))
    reason = detail.get("reason")
    return plain((said + (f" ({reason})" if reason else "")).strip())


_TOLD = ("kind", "candidate", "by", "reading", "verdict", "mode", "text", "hold_point", "file")
_CODED = frozenset({"kind", "by", "verdict", "mode"})
"""Words of the store, where a line stands for a blank; names of points and files keep theirs."""


def _spaced(text: str) -> str:
    return text.replace("_", " ")
