"""What a transistor is, by its words or its type number."""

import re
from functools import cache

from reworkkit import tables
from reworkkit.model.part import PartIdentity

_KINDS = {"mosfet": ("n", "p"), "igbt": ("n", "p"), "transistor": ("npn", "pnp"), "transistor_bipolar": ("npn", "pnp")}


def transistor_type(identity: PartIdentity) -> str | None:
    """Return n or p of a MOSFET (an IGBT counts as n), npn or pnp of a bipolar transistor; None where nothing tells."""
    pair = _KINDS.get(identity.kind)
    if pair is None or identity.kind == "igbt":
        return "n" if pair else None
    words = f"{identity.description} {identity.value.text} {identity.package_text}".casefold()
    if pair == ("n", "p"):
        said = [
            c for c in pair if re.search(rf"(?<![a-z]){c}[ -]?(?:ch|mos|fet|kanal|channel)|fet,? {c}(?![a-z])", words)
        ]
    else:
        said = [word for word in pair if re.search(rf"(?<![a-z]){word}(?![a-z])", words)]
    if said:
        return said[0] if len(said) == 1 else None
    return next((found for number in identity.type_numbers if (found := _by_number(number.upper(), pair))), None)


@cache
def _by_number(number: str, pair: tuple[str, str]) -> str | None:
    found = {row["type"] for row in tables.rows("transistor_types") if re.match(row["pattern"], number)} & set(pair)
    return next(iter(found)) if len(found) == 1 else None
