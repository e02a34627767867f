"""Which picture belongs to a part: from the name of its package, its kind and its pins."""

import re

from reworkkit.model.part import PartIdentity
from reworkkit.model.vocabulary import Mount

_NAMES: tuple[tuple[str, str], ...] = (
    (r"melf", "melf"),
    (r"\bsod-?\d|powerdi", "sod"),
    (r"\bsm[abc]f?\b(?! jack)|\bsmbf\b|do-?214", "sma"),
    (r"\bmoulded\b", "tantalum"),
    (r"sot-?223", "sot223"),
    (r"sot-?89", "sot89"),
    (r"sot-?23|sot-?323|sot-?363|sc-?7[04]|tsot|sot-?[57]\d\d|sot-?143", "sot23"),
    (r"to-?263|to-?268|d2-?pak|ddpak|hsof", "to263"),
    (r"to-?252|\bd-?pak", "to252"),
    (r"to-?247|to-?3p|to-?264", "to247"),
    (r"to-?220|to-?126|to-?251|to-?262", "to220"),
    (r"to-?92|to-?226", "to92"),
    (r"qfn|dfn|wson|mlf|mlp|lga|plcc", "qfn"),
    (r"qfp", "qfp"),
    (r"soic|\bso-?\d|[mqstv]{1,2}sop|\bsop|soj|tsop", "soic"),
    (r"\bdip|\bdil|db bridge|dbs bridge", "dip"),
    (r"^(?:r|inductor) axial|axial|do-?35|do-?41|do-?15|do-?27|do-?201|do-?34|\br-6\b", "axial"),
    (r"terminal|screw", "terminal"),
    (r"header|socket|idc|receptacle|jack|\b[12]x\d", "header"),
    (r"hc-?49|crystal|xtal", "crystal"),
    (r"\bsip-?\d|\bsip\b|gbu bridge", "sensor4"),
    (r"radial can|snap-in|varistor disc|disc p\d|inductor radial|toroid|buzzer", "radial"),
    (r"film box|fuse", "box"),
    (r"^inductor", "inductor"),
)
_KINDS: tuple[tuple[str, str], ...] = (
    (r"^crystal|^resonator|^oscillator", "crystal"),
    (r"^terminal", "terminal"),
    (r"^connector|^jumper", "header"),
    (r"^magnetic|current sensor", "sensor4"),
)
_BY_NAME = tuple((re.compile(pattern, re.I), shape) for pattern, shape in _NAMES)
_BY_KIND = tuple((re.compile(pattern, re.I), shape) for pattern, shape in _KINDS)
_CHIP_SIZE = re.compile(r"(?<!\d)(0201|0402|0603|0805|1206|1210|1812|2010|2512|\d{4}M?)(?!\d)")


def shape_of(identity: PartIdentity) -> str:
    """Return the name of the picture for a part; `block` where neither package nor kind is known."""
    package = identity.package
    name = f"{package.name} {package.written}" if package else identity.package_text
    kind = identity.kind.casefold().replace("_", " ")
    smd = package is not None and package.mount is Mount.SMD
    if special := _by_construction(name.casefold(), kind, smd):
        return special
    for pattern, shape in _BY_NAME:
        if pattern.search(name):
            return shape
    for pattern, shape in _BY_KIND:
        if pattern.search(kind):
            return shape
    return _by_size(name, kind, identity)


def _by_construction(name: str, kind: str, smd: bool) -> str | None:
    small = smd or _CHIP_SIZE.search(name) is not None
    if re.search(r"\bled\b", kind):
        return "led_chip" if small else "led_leaded"
    if "tantal" in kind:
        return "tantalum" if small or not re.search("bead|radial", f"{kind} {name}") else "radial"
    if "polymer" in kind and not re.search("can|radial", f"{kind} {name}"):
        return "polymer"
    if re.search("electrolytic|alumini?um|polymer", kind):
        return "axial" if "axial" in name else "can" if smd else "radial"
    if kind in {"tvs two way", "varistor"} and smd and "chip" in name:
        return "chip"
    if "inductor" in kind and not _CHIP_SIZE.search(name):
        return "inductor" if smd else "radial"
    return None


def _by_size(name: str, kind: str, identity: PartIdentity) -> str:
    if _CHIP_SIZE.search(name):
        return "chip"
    package = identity.package
    if package is None:
        return "block"
    if package.pins == 2:
        return "chip" if package.mount is Mount.SMD else "axial" if "resistor" in kind or "diode" in kind else "box"
    return "soic" if package.mount is Mount.SMD and package.pins % 2 == 0 else "block"


def pins_of(identity: PartIdentity, known: int = 0) -> int:
    """Return the number of pins to draw: the package's, else the netlist's, else two."""
    return (identity.package.pins if identity.package else 0) or known or 2
