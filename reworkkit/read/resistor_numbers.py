"""The resistance that a maker's part number holds."""

import re
from decimal import Decimal
from functools import cache

from reworkkit import tables
from reworkkit.model.values import Quantity

_POINT = {"R": Decimal(1), "K": Decimal(1000), "M": Decimal(1_000_000), "L": Decimal("0.001")}


@cache
def ohm_of_number(number: str) -> Quantity | None:
    """Return the resistance that a part number of a resistor holds, or None where its series is not in the table.

    Raises nothing. Source: the makers' numbering systems (`resistor_numbers.csv`, from memory).

    >>> str(ohm_of_number("RC0805FR-0724K9L").value), str(ohm_of_number("CRCW08054R70FKEA").value)
    ('24900', '4.7')
    >>> str(ohm_of_number("ERJ-6ENF1002V").value), str(ohm_of_number("ERJ-3GEYJ103V").value)
    ('10000', '10000')
    >>> ohm_of_number("LM358D") is None
    True
    """
    for row in tables.rows("resistor_numbers"):
        if found := re.match(row["pattern"], number.strip(), re.IGNORECASE):
            code = found[1].upper()
            return Quantity(_value(code), "ohm", code)
    return None


def _value(code: str) -> Decimal:
    if code.isdigit():
        return Decimal(f"{code[:-1]}e{code[-1]}") + 0
    letter = next((letter for letter in _POINT if letter in code), "R")
    figures = code.replace(letter, "") if "." in code else code.replace(letter, ".") + "0"
    return (Decimal(figures) * _POINT[letter]).normalize() + 0
