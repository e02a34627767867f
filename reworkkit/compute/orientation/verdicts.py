"""A verdict from two sides: how a part faces, and what the circuit needs."""

from dataclasses import replace

from reworkkit.compute.orientation.ends import Need
from reworkkit.compute.orientation.facing import named_terminal
from reworkkit.compute.orientation.lands import Lands
from reworkkit.model.messages import Finding, Message, message
from reworkkit.model.results import OrientationVerdict, PolarityMark
from reworkkit.model.vocabulary import FacesBasis, PolarityVerdict, Severity

Pins = dict[str, tuple[str, str]]

_OTHERWISE = {"minus": "cathode", "plus": "anode"}


def by_pin_names(ref: str, lands: Lands, stated: dict[str, str]) -> Pins:
    """Return terminal -> (pin, net) by the names of a two-pin part's lands: A and K, + and -."""
    pins = lands.pins(ref)
    if len(pins) != 2:
        return {}
    found = {named_terminal(pin, "", stated): (pin.number, pin.net or "") for pin in pins}
    return {role: pin for role, pin in found.items() if role} if len(found) == 2 and None not in found else {}


def against_need(said: OrientationVerdict, need: Need | None, named: Pins) -> OrientationVerdict:
    """Return the verdict with the need of the circuit beside what notes, or else the names of the lands, say.

    The order is fixed: `no_note` when nothing says how the part faces; `undecided` when the need is not decided or the
    land a note means is not known; else it agrees or contradicts.
    """
    if said.verdict is PolarityVerdict.NO_NOTE and named:
        faces = {role: f"pad {pin}" for role, (pin, _) in named.items() if role in ("cathode", "plus")}
        said = replace(said, faces=faces, faces_basis=FacesBasis.PAPERS, lands=named, verdict=PolarityVerdict.UNDECIDED)
    if need is None:
        return said
    if not need.roles:
        return replace(said, why=need.why, question=need.question or said.question)
    findings = (*said.findings, *_type_finding(said, need))
    if said.verdict is PolarityVerdict.NO_NOTE:
        return replace(said, needs=need.roles, why=need.why, findings=findings)
    agrees = _compare(said.lands, need.roles)
    if agrees is None:
        return replace(said, needs=need.roles, findings=findings)
    verdict = PolarityVerdict.AGREES if agrees and not need.wrong_type else PolarityVerdict.CONTRADICTS
    why = need.wrong_type if agrees and need.wrong_type else need.why
    told = replace(said, needs=need.roles, why=why, verdict=verdict, question=None, findings=findings)
    return told if agrees else replace(told, findings=(*findings, _contradiction(told)))


def _compare(faces: Pins, needs: Pins) -> bool | None:
    """Return whether lands agree in the roles both name; None where they share none."""
    needed = {_OTHERWISE.get(role, role): pin for role, (pin, _) in needs.items()}
    pairs = [
        (pin, needed[_OTHERWISE.get(role, role)])
        for role, (pin, _) in faces.items()
        if _OTHERWISE.get(role, role) in needed
    ]
    return all(one == other for one, other in pairs) if pairs else None


def _contradiction(said: OrientationVerdict) -> Finding:
    role, (pin, net) = next(iter(said.needs.items()))
    told = message("polarity-contradicts", ref=said.ref, role=role.replace("_", " "), pin=pin, net=net)
    return Finding(told, Severity.CHECK, (said.ref,), (said.where,) if said.where else ())


def _type_finding(said: OrientationVerdict, need: Need) -> tuple[Finding, ...]:
    if need.wrong_type is None:
        return ()
    return (Finding(need.wrong_type, Severity.CHECK, (said.ref,), (said.where,) if said.where else ()),)


def with_type(one_way: OrientationVerdict, mark: PolarityMark, need: Need) -> OrientationVerdict:
    """Return the verdict on a part whose lands take it one way only: whether its type suits what its lands are on."""
    if not need.roles:
        return one_way
    if "anode_1" not in need.roles:
        return replace(one_way, needs=need.roles, mark=mark)
    verdict = PolarityVerdict.CONTRADICTS if need.wrong_type else PolarityVerdict.AGREES
    why: Message = need.wrong_type or need.why
    return replace(
        one_way,
        needs=need.roles,
        faces={"pin_1": "pad 1"},
        faces_basis=FacesBasis.ASSUMED,
        verdict=verdict,
        why=why,
        mark=mark,
        findings=(*one_way.findings, *_type_finding(one_way, need)),
    )
