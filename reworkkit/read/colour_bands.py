"""The resistance that the colour bands of a resistor tell, written down as words."""

import re
from decimal import Decimal

from reworkkit.model.values import Quantity

_DIGITS = {
    word: digit
    for digit, words in enumerate(
        (
            "black schwarz bk sw noir",
            "brown braun bn br marron",
            "red rot rd rt rouge",
            "orange og or",
            "yellow gelb ye ge jaune",
            "green grün gruen gn vert",
            "blue blau bu bl bleu",
            "violet violett purple lila vt vi",
            "grey gray grau gy gr gris",
            "white weiß weiss wh ws blanc",
        )
    )
    for word in words.split()
}
_EXPONENTS = _DIGITS | {"gold": -1, "or.": -1, "gd": -1, "silver": -2, "silber": -2, "sr": -2}
_PERCENT = {
    "brown": 1, "braun": 1, "red": 2, "rot": 2, "green": "0.5", "grün": "0.5", "blue": "0.25", "blau": "0.25",
    "violet": "0.1", "violett": "0.1", "gold": 5, "silver": 10, "silber": 10,
}  # fmt: skip


def of_colours(text: str) -> tuple[Quantity, Quantity | None] | None:
    """Return resistance and tolerance of three to six colours in a row, or None where a text is something else.

    Source: IEC 60062:2016, colour code. Four bands: two figures, power of ten, tolerance; five and six: three figures.

    >>> [str(of_colours(t)[0].value) for t in ("blau grau braun gold", "brown black black red brown", "red red gold")]
    ['680', '10000', '2.2']
    >>> of_colours("red"), of_colours("green LED"), of_colours("red blue wire")
    (None, None, None)
    """
    words = [word for word in re.split(r"[\s,/-]+", text.casefold().strip()) if word]
    if not 3 <= len(words) <= 6 or not all(word in _EXPONENTS for word in words):
        return None
    figures = 3 if len(words) >= 5 else 2
    if not all(word in _DIGITS for word in words[:figures]):
        return None
    digits = int("".join(str(_DIGITS[word]) for word in words[:figures]))
    ohm = Decimal(digits).scaleb(_EXPONENTS[words[figures]]).normalize() + 0
    tolerance = _PERCENT.get(words[figures + 1]) if len(words) > figures + 1 else None
    percent = Quantity(Decimal(str(tolerance)), "%", words[figures + 1]) if tolerance else None
    return Quantity(ohm, "ohm", text.strip()), percent
