"""Moisture levels of bare parts: floor life, drying, and how hot the body may get. Never for a populated board."""

from reworkkit.compute.formulas.moisture import is_within, size_class
from reworkkit.errors import ReworkkitError
from reworkkit.model.board import Board
from reworkkit.model.designator import natural_key
from reworkkit.model.messages import Finding, message
from reworkkit.model.part import Package
from reworkkit.model.vocabulary import Severity
from reworkkit.tables import rows, source


def moisture_notes(board: Board) -> tuple[Finding, ...]:
    """Return for every part with a moisture level its floor life, drying and body limit, in natural order."""
    notes = []
    for ref in sorted(board.facts.parts, key=natural_key):
        level = board.facts.parts[ref].moisture
        if level is None or ref not in board.parts:
            continue
        package = board.parts[ref].identity.package
        notes.append(_floor_life_note(ref, level))
        if package is not None and (hours := drying_hours(level, package.height_mm)) is not None:
            text = message("heat-moisture-bake", ref=ref, level=level, at_125=hours[0], at_90=hours[1], at_40=hours[2])
            notes.append(Finding(text, Severity.NOTE, (ref,), source=source("bake_table")))
        if package is not None:
            text = message("heat-body-limit", ref=ref, limit=body_class(package, leaded=False))
            notes.append(Finding(text, Severity.NOTE, (ref,), source=source("jstd020c", "Table 4-2")))
    return tuple(notes)


def _floor_life_note(ref: str, level: str) -> Finding:
    hours = floor_life_hours(level)
    slug = message("heat-moisture-unlimited", ref=ref, level=level)
    if hours is not None:
        slug = message("heat-moisture-floor-life", ref=ref, level=level, hours=hours)
    return Finding(slug, Severity.NOTE, (ref,), source=source("floor_life_table"))


def floor_life_hours(level: str) -> float | None:
    """Return the floor life [h] of a moisture level at 30 C and 60 % humidity; None for no limit."""
    for row in rows("moisture_floor_life"):
        if row["level"] == level.lower():
            return float(row["floor_life_h"]) if row["floor_life_h"] else None
    raise ReworkkitError("heat-unknown-moisture-level", level=level)


def drying_hours(level: str, thickness_mm: float) -> tuple[float, float, float] | None:
    """Return the hours at 125, 90 and 40 C that dry a bare part, saturated; None where no row covers it."""
    fitting = [
        r for r in rows("moisture_bake") if r["level"] == level.lower() and thickness_mm <= float(r["thickness_mm"])
    ]
    if not fitting:
        return None
    row = min(fitting, key=lambda r: float(r["thickness_mm"]))
    return float(row["at_125_h"]), float(row["at_90_h"]), float(row["at_40_h"])


def body_class(package: Package, *, leaded: bool) -> float:
    """Return the classification temperature [C] of a body by thickness and volume."""
    process = "leaded" if leaded else "lead-free"
    volume = package.length_mm * package.width_mm * package.height_mm
    for row in rows("moisture_body"):
        if row["process"] == process and is_within(package.height_mm, float(row["below_mm"])):
            return float(row[("small_c", "middle_c", "large_c")[size_class(volume)]])
    raise ReworkkitError("heat-body-not-in-table", package=package.name)
