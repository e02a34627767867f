"""What stays open at a hold point and what was taken for granted there: only for the parts that are fitted then."""

from collections.abc import Iterable

from reworkkit.model.designator_list import in_short
from reworkkit.model.messages import Fact, Message, NotJudged
from reworkkit.model.results import Circuit

_OF_A_LOAD = "circuit-load-unknown"


def open_questions(circuit: Circuit, fitted: frozenset[str]) -> tuple[NotJudged, ...]:
    """Return the circuit's questions, without those that are only about parts not fitted at this hold point."""
    refs = {e.ref for e in circuit.elements if e.ref and e.ref not in circuit.nodes}
    fed = {e.nodes[0] for e in circuit.elements if e.kind == "ic" and e.ref in fitted}
    kept = []
    for one in circuit.not_judged:
        if one.because.slug == _OF_A_LOAD and not fed & set(one.about):
            continue
        if one.about and set(one.about) <= refs and not fitted & set(one.about):
            continue
        kept.append(one)
    return tuple(kept)


def assumed(circuit: Circuit, fitted: frozenset[str]) -> tuple[Message, ...]:
    """Return what was assumed about the fitted parts; one figure taken for several parts is told once."""
    told = (
        one for e in circuit.elements if not e.ref or e.ref in fitted or e.ref in circuit.nodes for one in e.assumed
    )
    return tuple(_folded(dict.fromkeys(told)))


def _folded(messages: Iterable[Message]) -> Iterable[Message]:
    """Yield the messages, those of one slug that differ in the designator alone made one."""
    groups: dict[tuple[object, ...], list[Message]] = {}
    for one in messages:
        rest = tuple((key, value) for key, value in one.facts if key != "ref")
        groups.setdefault((one.slug, rest), []).append(one)
    for (slug, _), group in groups.items():
        refs = [str(dict(one.facts).get("ref", "")) for one in group]
        yield group[0] if len(group) == 1 else Message(str(slug), _with_refs(group[0], in_short(refs)))


def _with_refs(one: Message, refs: str) -> tuple[tuple[str, Fact], ...]:
    return tuple((key, refs if key == "ref" else value) for key, value in one.facts)
