"""What changed in the inputs since the job began or was last refreshed, and taking it over without losing a tick."""

from reworkkit.model.designator import natural_key
from reworkkit.model.job import Event
from reworkkit.model.job_input import BeginInput, JobPlace
from reworkkit.model.job_view import Actor, Refreshed
from reworkkit.model.messages import Message, message
from reworkkit.model.vocabulary import EventKind
from reworkkit.record.job_store import JobStore
from reworkkit.record.projection import base_state
from reworkkit.record.queries import places
from reworkkit.record.snapshot import facets_data, found_facets, reading_events, snapshot_event, write_design

Step = tuple[str, str]


def difference(store: JobStore, begun: BeginInput, actor: Actor) -> Refreshed:
    """Return how the inputs as they are now differ from what the job has stored; nothing is written."""
    old, new = _old_steps(store), _new_steps(store, begun)
    kept, lost = _ticks(store, old, new)
    old_keys = {step for steps in old.values() for step in steps}
    new_keys = {step for steps in new.values() for step in steps}
    known = {event_id for (event_id,) in store.connection.execute("SELECT id FROM event WHERE id LIKE 'row-%'")}
    return Refreshed(
        accepted=False,
        files=_file_differences(store, begun),
        places=_place_differences(places(store), {place.ref: place for place in begun.places}),
        found=tuple(text for _, _, text in _found_differences(store, begun) if text.fact("old") != text.fact("new")),
        steps_new=_in_order(new_keys - old_keys),
        steps_gone=_in_order(old_keys - new_keys),
        ticks_kept=kept,
        ticks_lost=lost,
        new_readings=sum(event.id not in known for event in reading_events(begun, actor)),
    )


def accept(store: JobStore, begun: BeginInput, actor: Actor) -> Refreshed:
    """Take the new inputs over; call it inside one transaction. Every event stays, and so does every tick."""
    changes = difference(store, begun, actor)
    found = [_found_event(begun, copy, ref, actor) for copy, ref, _ in _found_differences(store, begun)]
    write_design(store, begun)
    store.append([snapshot_event(begun, actor), *found, *reading_events(begun, actor)])
    return changes._replace(accepted=True)


def _in_order(steps: set[Step]) -> tuple[Step, ...]:
    return tuple(sorted(steps, key=lambda step: (natural_key(step[1]), step[0])))


def _old_steps(store: JobStore) -> dict[int, set[Step]]:
    steps: dict[int, set[Step]] = {}
    for copy, kind, subject in store.connection.execute(
        "SELECT copy, kind, subject FROM copy LEFT JOIN step USING (plan_id)"
    ):
        steps.setdefault(copy, set())
        if kind is not None:
            steps[copy].add((kind, subject))
    return steps


def _new_steps(store: JobStore, begun: BeginInput) -> dict[int, set[Step]]:
    plans = {plan.copy: {step for o in plan.operations for step in o.steps} for plan in begun.plans}
    copies = [copy for (copy,) in store.connection.execute("SELECT copy FROM copy")]
    return {copy: plans.get(copy, plans.get(0, set())) for copy in copies}


def _ticks(
    store: JobStore, old: dict[int, set[Step]], new: dict[int, set[Step]]
) -> tuple[int, tuple[tuple[int, str, str], ...]]:
    """Return how many ticks still apply, and those that the plan held until now and holds no longer."""
    done = store.connection.execute("SELECT copy, kind, subject FROM step_done ORDER BY seq").fetchall()
    kept = sum((kind, subject) in new.get(copy, set()) for copy, kind, subject in done)
    lost = tuple(
        (copy, kind, subject)
        for copy, kind, subject in done
        if (kind, subject) in old.get(copy, set()) - new.get(copy, set())
    )
    return kept, lost


def _file_differences(store: JobStore, begun: BeginInput) -> tuple[Message, ...]:
    old = dict(store.connection.execute("SELECT name, sha256 FROM input_file"))
    new = {file.name: file.sha256 for file in begun.inputs}
    gone = [message("refresh-file-gone", file=name) for name in sorted(old.keys() - new.keys())]
    added = [message("refresh-file-new", file=name) for name in sorted(new.keys() - old.keys())]
    both = sorted(old.keys() & new.keys())
    return (*gone, *added, *(message("refresh-file-changed", file=n) for n in both if old[n] != new[n]))


def _place_differences(old: dict[str, JobPlace], new: dict[str, JobPlace]) -> tuple[Message, ...]:
    found = []
    for ref in sorted(old.keys() | new.keys(), key=natural_key):
        if ref not in new:
            found.append(message("refresh-place-gone", ref=ref))
        elif ref not in old:
            found.append(message("refresh-place-new", ref=ref))
        else:
            found += _field_differences(old[ref], new[ref])
    return tuple(found)


def _field_differences(old: JobPlace, new: JobPlace) -> list[Message]:
    return [
        message("refresh-place-changed", ref=old.ref, what=name.replace("_", " "), old=was or "-", new=now or "-")
        for name, was, now in zip(JobPlace._fields, old, new, strict=True)
        if was != now
    ]


def _found_differences(store: JobStore, begun: BeginInput) -> list[tuple[int, str, Message]]:
    polarised = {place.ref: place.polarised for place in begun.places}
    differences = []
    for (copy,) in store.connection.execute("SELECT copy FROM copy ORDER BY copy").fetchall():
        old = {e.subject: (e.detail["facets"], e.detail["note"]) for e in store.standing_events("found", copy)}
        new = found_facets(begun, copy)
        for ref in sorted(old.keys() | new.keys(), key=natural_key):
            base = (facets_data(base_state(ref, polarised.get(ref, "unknown"))), "")
            was, now = old.get(ref, base), new.get(ref, base)
            if was != now:
                text = message("refresh-found", ref=ref, copy=copy, old=_words(was), new=_words(now))
                differences.append((copy, ref, text))
    return differences


def _words(found: tuple[object, object]) -> str:
    facets, note = found
    assert isinstance(facets, dict)
    shown = [str(facets[name]).replace("_", " ") for name in ("place", "joint", "part", "way_round")]
    plain = [word for word in shown if word not in ("good", "none", "not needed", "not checked")]
    return ", ".join([*plain, *([f'"{note}"'] if note else [])])


def _found_event(begun: BeginInput, copy: int, ref: str, actor: Actor) -> Event:
    polarised = {place.ref: place.polarised for place in begun.places}
    base = (facets_data(base_state(ref, polarised.get(ref, "unknown"))), "")
    facets, note = found_facets(begun, copy).get(ref, base)
    detail: dict[str, object] = {"facets": facets, "note": note}
    return Event(0, actor.new_id(), copy, actor.at, actor.who, actor.device, EventKind.FOUND, ref, detail)
