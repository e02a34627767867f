"""Preferred values of IEC 60063: is a value on a series, and which one was likely meant."""

from decimal import Decimal

E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
E192 = frozenset(920 if n == 919 else n for n in (round(100 * 10 ** (i / 192)) for i in range(192)))
"""E192 and so E48 and E96: rounded powers of the 192nd root of ten, 919 written 920 (IEC 60063)."""


def figures(value: Decimal) -> int:
    """Return the significant figures of a positive value as a whole number of three or more digits.

    >>> figures(Decimal("4700")), figures(Decimal("0.0221")), figures(Decimal("12345"))
    (470, 221, 12345)
    """
    digits = "".join(map(str, value.normalize().as_tuple().digits))
    return int(digits.ljust(3, "0"))


def on_series(value: Decimal) -> bool:
    """Return whether a value is in E24 or E192 (which holds E48 and E96).

    >>> on_series(Decimal("4.7e3")), on_series(Decimal("4.99e3")), on_series(Decimal("4.8e3"))
    (True, True, False)
    """
    three = figures(value)
    return three in E192 or (three % 10 == 0 and three // 10 in E24)


def likely_meant(value: Decimal, *, fine: bool = True) -> Decimal | None:
    """Return the nearest preferred value that differs in the last typed digit by at most two, or None.

    Two figures are compared with E24; three with E192, or with E24 where the class is not sold finer (`fine` False).

    >>> likely_meant(Decimal("4800")), likely_meant(Decimal("4980")), likely_meant(Decimal("85"))
    (Decimal('4.7E+3'), Decimal('4.99E+3'), None)
    >>> likely_meant(Decimal("2.22"), fine=False)
    Decimal('2.2')
    """
    three = figures(value)
    if three >= 1000:
        return None
    coarse = tuple(10 * e for e in E24)
    if three % 10 == 0:
        near = [e for e in coarse if abs(e - three) <= 20 and e // 100 == three // 100]
    else:
        series = tuple(E192) if fine else coarse
        near = [e for e in series if abs(e - three) <= 2 and e // 100 == three // 100]
    if not near:
        return None
    best = min(near, key=lambda e: (abs(e - three), e))
    return (value * best / three).normalize()
