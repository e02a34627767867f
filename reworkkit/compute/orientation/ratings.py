"""Ratings beside the way round: what capacitors and diodes bear against their nets; suppressors on two-way lines."""

import re

from reworkkit.compute.orientation.ends import Bench, Need, Part2, low_floor, reaches_up
from reworkkit.model.connections import GENERAL_DIODES
from reworkkit.model.messages import Finding, message
from reworkkit.model.part import Part
from reworkkit.model.values import Source
from reworkkit.model.vocabulary import Severity
from reworkkit.tables import rows, source

_LEAST_V = 0.5
"""A difference that may go the wrong way across an electrolytic without notice [V]."""


def rating_findings(bench: Bench, part: Part, need: Need | None) -> tuple[Finding, ...]:
    """Return what the potentials of its nets say against the ratings that the list or a table states for a part."""
    two = bench.part(part.ref)
    if two is None:
        return ()
    found = []
    if part.identity.kind.startswith(("capacitor", "supercap")):
        found += [*_over_voltage(two, part), *_both_signs(two, part)]
    elif part.identity.kind in ("tvs_one_way", "tvs"):
        found += _two_way_needed(two, part)
    elif part.identity.kind in GENERAL_DIODES and need and "cathode" in need.roles:
        found += _over_reverse(two, part, need.roles["cathode"][1])
    return tuple(found)


def _across(part: Part2) -> float | None:
    """Return the highest voltage that can stand across a part by the ranges of its nets, or None where one is open."""
    most = max(reaches_up(high) - low_floor(low) for high, low in part.ways)
    known = all(end.kind in ("rail", "ground", "range", "made", "derived") for end in (part.a, part.b))
    return most if known and most < float("inf") else None


def _over_voltage(two: Part2, part: Part) -> list[Finding]:
    rated, across = part.identity.value.volts, _across(two)
    row = next((row for row in rows("capacitor_derating") if part.identity.kind == row["kind"]), None)
    if rated is None or across is None or row is None:
        return []
    volts = float(rated.value)
    share = float(row["percent_to_10_v"] if volts <= 10 else row["percent"])
    authority = source(row["source"], row["place"])
    if across > volts:
        told = message("polarity-over-rated", ref=part.ref, rated=rated, across=round(across, 1))
        return [Finding(told, Severity.STOP, (part.ref,), (part.where,), authority)]
    if across > volts * share / 100:
        told = message("polarity-over-derated", ref=part.ref, rated=rated, across=round(across, 1), percent=share)
        return [Finding(told, Severity.NOTE, (part.ref,), (part.where,), authority)]
    return []


def _over_reverse(two: Part2, part: Part, cathode: str) -> list[Finding]:
    """Return a finding where a diode of known direction may see more in reverse than it bears.

    Two nets that both move may move together, so one of them has to be fixed.
    """
    high, low = (two.a, two.b) if two.a.net == cathode else (two.b, two.a)
    rated = _reverse_rating(part)
    known = all(end.kind in ("rail", "ground", "range", "made") for end in (high, low))
    fixed = {high.kind, low.kind} & {"rail", "ground", "made"}
    if rated is None or not known or not fixed or high.high_v is None or low.low_v is None:
        return []
    volts, authority = rated
    across = high.high_v - low.low_v
    if across <= volts:
        return []
    told = message("polarity-over-reverse", ref=part.ref, rated=volts, across=round(across, 1))
    return [Finding(told, Severity.STOP, (part.ref,), (part.where,), authority)]


def _reverse_rating(part: Part) -> tuple[float, Source | None] | None:
    """Return the reverse voltage a diode bears [V]: by the list, else by the table of types."""
    identity = part.identity
    if identity.value.volts:
        return float(identity.value.volts.value), None
    if said := re.findall(r"(?<![\d.])(\d{2,4})\s?V(?![a-zA-Z])", identity.description):
        return float(said[-1]), None
    number = (identity.part_number or identity.value.text).upper().strip()
    row = next((row for row in rows("diode_reverse") if re.match(row["pattern"], number)), None)
    return (float(row["volts"]), source(row["source"], row["place"])) if row else None


def _both_signs(two: Part2, part: Part) -> list[Finding]:
    """Return a finding for a polarised capacitor whose nets are stated to cross each other."""
    if part.identity.polarised != "yes" or {two.a.kind, two.b.kind} - {"range", "rail", "ground"}:
        return []
    one, other = (reaches_up(high) - low_floor(low) for high, low in two.ways)
    grounded = "ground" in (two.a.kind, two.b.kind)
    if grounded and min(one, other) > _LEAST_V:
        told = message("polarity-both-signs", ref=part.ref, net=two.a.net, other=two.b.net)
        return [Finding(told, Severity.CHECK, (part.ref,), (part.where,))]
    return []


def _two_way_needed(two: Part2, part: Part) -> list[Finding]:
    for line, ground in two.ways:
        if ground.kind == "ground" and line.low_v is not None and line.low_v < -1.5 and reaches_up(line) > 1.5:
            told = message("polarity-two-way-needed", ref=part.ref, net=line.net)
            return [Finding(told, Severity.CHECK, (part.ref,), (part.where,))]
    return []
