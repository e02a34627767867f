"""Heat demand in words from kind and package alone: what can be said when no joint has been computed."""

from reworkkit.model.board import Board
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Package, PartIdentity
from reworkkit.model.results import HeatDemand
from reworkkit.model.vocabulary import Fit, HeatBasis, HeatClass, Mount
from reworkkit.tables import rows

_ORDER = tuple(HeatClass)


def heat_by_class(board: Board) -> dict[str, HeatDemand]:
    """Return one heat demand per part to fit, from its package and kind only (basis `class`, no figures)."""
    cache: dict[int, tuple[HeatClass, tuple[Message, ...]]] = {}
    found: dict[str, HeatDemand] = {}
    for ref, part in board.parts.items():
        if part.fit is Fit.NOT_A_PART:
            continue
        identity = part.identity
        if id(identity) not in cache:
            cache[id(identity)] = class_of(identity)
        heat_class, assumed = cache[id(identity)]
        found[ref] = HeatDemand(ref, None, None, (), None, None, heat_class, None, None, HeatBasis.CLASS, assumed)
    return found


def class_of(identity: PartIdentity) -> tuple[HeatClass, tuple[Message, ...]]:
    """Return the class of a part's heaviest joint, and what that rests on."""
    package = identity.package
    if package is None:
        return _by_kind(identity.kind), (message("heat-class-from-kind", kind=identity.kind),)
    classes = [found for rule, figure in _figures(package) if (found := _by_figure(rule, figure)) is not None]
    return max(classes, key=_ORDER.index), (message("heat-class-from-package", package=package.name),)


def _figures(package: Package) -> list[tuple[str, float]]:
    """List the figures of a package that rules look at; the mass or the lead always gives at least one class."""
    tab_mm2 = package.tab[0] * package.tab[1] if package.tab else 0.0
    if package.mount is Mount.SMD:
        mass_g_a_pin = (package.mass_g or 0.0) / max(package.pins, 1)
        return [("smd_tab", tab_mm2), ("smd_hidden", package.hidden_pads), ("smd_mass", mass_g_a_pin)]
    lead = [("hole_any", 0.0)] if package.lead_mm2 is None else [("hole_lead", package.lead_mm2)]
    return [("hole_tab", tab_mm2), *lead]


def _by_figure(rule: str, figure: float) -> HeatClass | None:
    reached = [row for row in rows("heat_classes") if row["rule"] == rule and figure >= float(row["above"])]
    return HeatClass(max(reached, key=lambda row: float(row["above"]))["heat_class"]) if reached else None


def _by_kind(kind: str) -> HeatClass:
    spoken = kind.replace("_", " ").lower()
    return next(
        HeatClass(row["heat_class"])
        for row in rows("heat_classes")
        if row["rule"] == "kind" and row["subject"] in spoken
    )
