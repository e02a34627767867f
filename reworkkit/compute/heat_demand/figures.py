"""Figures of the heat model from the shipped tables: materials, alloys, tips, limits."""

import math
from functools import cache
from typing import NamedTuple

from reworkkit.errors import ReworkkitError
from reworkkit.model.facts import BenchFacts, TipFacts
from reworkkit.model.messages import Message, message
from reworkkit.model.vocabulary import JointKind
from reworkkit.tables import OwnTables, Row, cell_number, rows, rows_with

_NONE: OwnTables = {}


class Figure(NamedTuple):
    """A figure of the model and its spread (standard deviation of the logarithm)."""

    value: float
    spread: float


@cache
def figure(name: str) -> Figure:
    """Return one figure of heat_model.csv; KeyError where there is none of that name."""
    for row in rows("heat_model"):
        if row["figure"] == name:
            return Figure(float(row["value"]), float(row["spread"]))
    raise KeyError(name)


class Alloy(NamedTuple):
    """A solder: liquidus [C], density [kg/m3], conductivity [W/mK], latent heat [J/kg], heat capacity [J/kgK]."""

    name: str
    liquidus_c: float
    density: float
    conductivity: float
    latent: float
    heat: float

    @property
    def wetting_c(self) -> float:
        """Temperature [C] the joint must have at the end of the dwell."""
        return self.liquidus_c + figure("criterion").value


def alloy(written: str | None, own: OwnTables = _NONE) -> tuple[Alloy, Message | None]:
    """Return the alloy written, or the lead-free one with a message where nothing or something unknown was written."""
    wanted = _plain(written or "")
    for row in rows_with("alloys", own):
        if wanted and wanted in [_plain(name) for name in (row["alloy"], *row["also"].split())]:
            return _alloy(row), None
    slug = message("heat-alloy-not-known", written=written) if written else message("heat-alloy-assumed")
    return _alloy(rows("alloys")[0]), slug


def _plain(text: str) -> str:
    return "".join(c for c in text.lower() if c.isalnum())


def _alloy(row: Row) -> Alloy:
    names = ("liquidus_c", "density", "conductivity", "latent", "heat")
    return Alloy(row["alloy"], *(cell_number("alloys", row, n) for n in names))


class Tip(NamedTuple):
    """A soldering tip: face [m2], width [m], conductance from heater to tip end [W/K], heat stored [J/K], power [W]."""

    name: str
    face_m2: float
    width_m: float
    inner_w_per_k: float
    tip_j_per_k: float
    heater_j_per_k: float
    power_w: float
    slip_on: bool


@cache
def usual_tips() -> dict[str, Tip]:
    """Return the shipped tips by name."""
    return {row["tip"]: _tip(row) for row in rows("tips")}


def _tip(row: Row) -> Tip:
    face, width, inner, end, heater, power = (
        float(row[n]) for n in ("face", "width", "inner", "tip_heat", "heater_heat", "power")
    )
    return Tip(row["tip"], face * 1e-6, width * 1e-3, inner, end, heater, power, row["slip_on"] == "yes")


def tips_of(bench: BenchFacts) -> tuple[Tip, ...]:
    """Return the tips on the bench, smallest first; where none are named, the usual small, medium and large one."""
    if not bench.tips:
        return tuple(tip for tip in usual_tips().values() if not tip.slip_on)
    return tuple(sorted((_bench_tip(name, facts) for name, facts in bench.tips.items()), key=lambda t: t.face_m2))


def _bench_tip(name: str, facts: TipFacts) -> Tip:
    """Scale the usual tip nearest in width: face with the width's 1.25th power, conductance and heat with the face."""
    width = float(facts.width.value) * 1e-3 if facts.width else _width_from_words(f"{facts.size or ''} {name}")
    usual = usual_tips()
    near = min((t for t in usual.values() if not t.slip_on), key=lambda t: abs(math.log(t.width_m / (width or 2.4e-3))))
    scale = ((width or near.width_m) / near.width_m) ** 1.25
    inner = near.inner_w_per_k * scale
    heater = near.heater_j_per_k
    if facts.slip_on:
        inner, heater = inner / 3.0, usual["medium slip-on"].heater_j_per_k
    power = float(facts.power.value) if facts.power else near.power_w
    return Tip(
        name,
        near.face_m2 * scale,
        width or near.width_m,
        inner,
        near.tip_j_per_k * scale,
        heater,
        power,
        bool(facts.slip_on),
    )


def _width_from_words(text: str) -> float | None:
    """Return the width [m] a tip's size says: `2.4 mm chisel`, or small, medium, large."""
    words = text.lower().replace("mm", " ").split()
    for word in words:
        try:
            return float(word) * 1e-3
        except ValueError:
            if word in usual_tips():
                return usual_tips()[word].width_m
    return None


def tip_named(name: str, bench: BenchFacts) -> Tip:
    """Return the tip of that name, from the bench or the usual ones; refuses a name nobody knows."""
    known = {tip.name: tip for tip in (*usual_tips().values(), *tips_of(bench))}
    if name not in known:
        raise ReworkkitError("heat-unknown-tip", tip=name, known=", ".join(known))
    return known[name]


def allowed_setting(kind: JointKind, part_kind: str, own: OwnTables = _NONE) -> float:
    """Return the hottest tip setting [C] for a joint of a part: the lowest limit that fits, at most 380."""
    spoken = part_kind.replace("_", " ").lower()
    fitting = (row for row in rows_with("heat_limits", own) if _fits(row, kind, spoken))
    limits = [cell_number("heat_limits", row, "setting_c") for row in fitting]
    return min([*limits, figure("setting_most").value])


def body_limit(part_kind: str) -> float | None:
    """Return how hot the body [C] of a heat-sensitive kind may get, or None where the table has none."""
    spoken = part_kind.replace("_", " ").lower()
    limits = [
        float(row["body_c"])
        for row in rows("heat_limits")
        if row["rule"] == "kind" and _has_words(row["subject"], spoken) and row["body_c"]
    ]
    return min(limits) if limits else None


def _fits(row: Row, kind: JointKind, spoken: str) -> bool:
    return row["subject"] == kind if row["rule"] == "joint" else _has_words(row["subject"], spoken)


def _has_words(subject: str, spoken: str) -> bool:
    words = spoken.split()
    return all(word in words for word in subject.split())
