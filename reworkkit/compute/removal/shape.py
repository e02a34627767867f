"""What kind of thing has to come off: the shape of its joints, and whether it carries power."""

from reworkkit.model.part import Part
from reworkkit.model.results import Joint
from reworkkit.model.vocabulary import JointKind, Mount

_LARGE_MM = 3.0
"""Longer than this, two ends no longer melt under one tip (common practice)."""
_FEW_PADS, _FEW_HOLES = 6, 4
_WIRE_KINDS = ("jumper",)
_POWER_WORDS = (
    "mosfet",
    "igbt",
    "regulator",
    "terminal",
    "relay",
    "fuse",
    "transformer",
    "inductor",
    "choke",
    "jumper",
)


def shape_of(part: Part, joints: tuple[Joint, ...]) -> str:
    """Return the shape of a part's joints as removal_methods.csv names it; empty where nothing is known of them."""
    kinds = [joint.kind for joint in joints]
    package = part.identity.package
    if not kinds:
        return _by_package(part)
    if JointKind.HIDDEN in kinds:
        return "hidden"
    if JointKind.HOLE in kinds:
        if part.identity.kind in _WIRE_KINDS:
            return "wire"
        if package is not None and package.tab:
            return "hole_plate"
        return "holes_few" if len(kinds) <= _FEW_HOLES else "holes_many"
    return "tab" if JointKind.TAB in kinds else _pads(part, len(kinds))


def _by_package(part: Part) -> str:
    package = part.identity.package
    if package is None:
        return ""
    if package.mount is Mount.THROUGH_HOLE:
        return "hole_plate" if package.tab else "holes_few" if package.pins <= _FEW_HOLES else "holes_many"
    if package.hidden_pads:
        return "hidden"
    return "tab" if package.tab else _pads(part, package.pins)


def _pads(part: Part, count: int) -> str:
    package = part.identity.package
    if count <= 2:
        return "two_pads_large" if package is not None and package.length_mm > _LARGE_MM else "two_pads"
    return "few_pads" if count <= _FEW_PADS else "rows"


def is_power_part(part: Part) -> bool:
    """Return whether a part carries power: no low-melting alloy near it, ever."""
    package = part.identity.package
    tab = package is not None and package.tab is not None
    return tab or any(word in part.identity.kind for word in _POWER_WORDS)
