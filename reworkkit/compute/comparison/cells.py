"""Cells of a candidate's row under the headings people write: qualifiers, AC or DC, ends of a range, many spellings."""

import re

from reworkkit.compute.comparison.amounts import Figure, current_of
from reworkkit.compute.comparison.rules import term
from reworkkit.model.board import Candidate
from reworkkit.model.values import Quantity

Cells = dict[str, Quantity | str]

_QUALIFIER = re.compile(r"\b(?:max|maximum|min|minimum|typ|typical|rated|nominal|absolute|abs)\b")
_ONE_SIDED = ("gain", "ctr_min", "ctr_max", "esr_min", "esr_max", "output_capacitor_min")
"""Parameters that name their end: a heading with the other end is another figure."""
_PATTERNS = {"effective_capacitance": re.compile(r"(?:capacitance|c) at [\d ]+ ?v(?: bias| dc)?")}
_GENERIC = {
    "voltage_dc": ("voltage", "rated voltage", "voltage rating"),
    "contact_voltage_dc": ("contact voltage", "contact rating", "switching voltage", "rating", "voltage"),
    "contact_voltage_ac": ("contact voltage", "contact rating", "rating", "voltage"),
    "voltage_ac": ("voltage", "voltage rating"),
}
"""Headings that say neither AC nor DC: the cell must say it."""
_BARE_IS_OWN = ("capacitor_safety",)
"""Kinds whose rating is one of AC when nothing is said."""
_ENDS = {"esr_min": 0, "esr_max": 1, "ctr_min": 0, "ctr_max": 1}
_SPELLINGS: dict[str, tuple[tuple[re.Pattern[str], str], ...]] = {
    name: tuple((re.compile(pattern, re.IGNORECASE), word) for pattern, word in pairs)
    for name, pairs in {
        "channel": (
            (r"\bn[- ]?(?:channel|ch|mos|kanal)", "N"),
            (r"\bp[- ]?(?:channel|ch|mos|kanal)", "P"),
            (r"\bnpn\b", "NPN"),
            (r"\bpnp\b", "PNP"),
        ),
        "direction": (
            (r"\bbi[- ]?(?:directional|polar)|two.?way|both ways", "two-way"),
            (r"\buni[- ]?(?:directional|polar)|one.?way", "one-way"),
        ),
        "safety_class": ((r"\bX1\W?Y1\b", "Y1"), (r"\bX1\W?Y2\b", "Y2"), (r"\b([XY][1-4])\b", r"\1")),
        "dielectric": ((r"^(?:NP0|NPO|COG|CG)$", "C0G"),),
        "time_class": (
            (r"^(?:very fast|super fast|superflink)", "FF"),
            (r"^(?:slow|time.?lag|time.?delay|träge|anti.?surge)", "T"),
            (r"^(?:fast|quick|flink)", "F"),
            (r"^(?:medium|mittel)", "M"),
        ),
        "contact_form": (
            (r"^(?:1 ?form ?c|1 ?co|1 ?c/o|change.?over|spdt)$", "SPDT"),
            (r"^(?:1 ?form ?a|1 ?no|spst[- ]?no)$", "SPST-NO"),
            (r"^(?:1 ?form ?b|1 ?nc|spst[- ]?nc)$", "SPST-NC"),
            (r"^(?:2 ?form ?c|2 ?co|2 ?c/o|dpdt)$", "DPDT"),
            (r"^(?:2 ?form ?a|2 ?no|dpst[- ]?no)$", "DPST-NO"),
        ),
        "action": (
            (r"non-?latching|mono-?stable|single side stable|momentary|tact|spring", "momentary"),
            (r"latching|bi-?stable|maintained|self-?hold|locking", "latching"),
            (r"solid.?state|\bssr\b", "solid state"),
        ),
        "taper": ((r"^lin(?:ear)?\b", "linear"), (r"^(?:log(?:arithmic)?|audio)\b", "logarithmic")),
        "input_range": ((r"^(?:yes|y|rail.?to.?rail|rri|rrio)$", "rail to rail"), (r"^(?:no|n)$", "inside")),
        "output_range": ((r"^(?:yes|y|rail.?to.?rail|rro|rrio)$", "rail to rail"), (r"^(?:no|n)$", "inside")),
        "free_wheel": ((r"^(?:no|n|none|without|-)$", "no"), (r"^(?:yes|y|with|built.?in|co-?pack\w*)$", "yes")),
        "rechargeable": ((r"^(?:no|n|primary)$", "no"), (r"^(?:yes|y|secondary)$", "yes")),
    }.items()
}
_RAILS = {"yes": ("yes", "yes"), "y": ("yes", "yes"), "rrio": ("yes", "yes"), "no": ("no", "no"), "n": ("no", "no"),
          "input and output": ("yes", "yes"), "in out": ("yes", "yes"), "both": ("yes", "yes")}  # fmt: skip


def cells_of(row: Candidate) -> Cells:
    """Return what stands in a row, under its headings; blank cells are left out."""
    own = _with_conditions({str(n).replace("_", " "): one for n, one in row.figures.items() if text_of(one)})
    rails = _RAILS.get(text_of(own.get("rail to rail", "")).casefold())
    if rails:
        own |= {"rail to rail input": rails[0], "rail to rail output": rails[1]}
    return own


_ON = r"(?:rds(?: on)?|rdson|on resistance|drain source on resistance|on state resistance)"
_ON_AT = re.compile(rf"{_ON}(?: (?:max|typ))? at (?:vgs )?(?P<volts>\d+(?: \d+)?) ?v(?: .*)?")
_AT = re.compile(r"(?P<value>.*\d.*?)\s*(?:@|\bat\b)\s*(?P<condition>.+)")


def _with_conditions(own: Cells) -> Cells:
    """Return the cells with the condition of a figure in a cell of its own: `35 mohm @ 4.5 V`, `Rds(on) @ 4.5 V`.

    Of several on resistances the one at the lowest gate voltage is kept: it decides whether the channel is on.
    """
    found: Cells = {}
    for heading, value in own.items():
        split = _AT.fullmatch(value) if isinstance(value, str) else None
        if split:
            at = "rds on at" if re.fullmatch(_ON, heading) else f"{heading} at"
            found |= {heading: split["value"], at: split["condition"]}
        else:
            found[heading] = value
    stated = {name: float(m["volts"].replace(" ", ".")) for name in found if (m := _ON_AT.fullmatch(name))}
    if stated:
        lowest = min(stated, key=lambda name: stated[name])
        kept = {name: value for name, value in found.items() if name not in stated}
        found = {**kept, "rds on": found[lowest], "rds on at": f"{stated[lowest]:g} V"}
    return found


def headings_of(own: Cells, parameter: str, words: frozenset[str]) -> list[str]:
    """Return the headings of a row that say a parameter; `words` are all headings the kind's parameters stand under."""
    exact = [word for word in (*term(parameter).words, *_GENERIC.get(parameter, ())) if word in own]
    if exact:
        return list(dict.fromkeys(exact))
    pattern = _PATTERNS.get(parameter)
    if pattern:
        return [name for name in own if pattern.fullmatch(name)]
    if parameter in _ONE_SIDED:
        return []
    return [name for name in own if name not in words and _plain(name) in term(parameter).words]


def _plain(heading: str) -> str:
    return " ".join(_QUALIFIER.sub(" ", re.sub(r" at .+$", "", heading)).split())


def cell_for(own: Cells, heading: str, parameter: str, kind: str) -> Quantity | Figure | str | None:
    """Return what a cell says of a parameter; None where it speaks of something else, else a bare text."""
    written = own[heading]
    text = text_of(written)
    current = parameter[-2:] if parameter.endswith(("_ac", "_dc")) else ""
    if current or heading.endswith("rating"):
        return _of_current(written, current, term(parameter).unit, heading in _GENERIC.get(parameter, ()), kind)
    if parameter == "tempco":
        return re.sub(r"\s*/\s*°?\s*[CK]$", "", text) if isinstance(written, str) else written
    if isinstance(written, str):
        return _in_one_word(parameter, written)
    return written


def _of_current(
    written: Quantity | str, current: str, unit: str, generic: bool, kind: str
) -> Quantity | Figure | str | None:
    """Return the piece of a cell that is of a current: of `10 A 250 VAC / 5 A 30 VDC` the `250 VAC`."""
    pieces = [one.strip() for one in re.split(r"[/;]|,(?!\d)", text_of(written)) if one.strip()]
    if current and len(pieces) > 1:
        pieces = [one for one in pieces if current_of(one) == current]
    for piece in pieces:
        said = current_of(piece)
        if current and said not in ("", current):
            return None if generic else Figure(piece)
        if generic and current and not said and kind not in _BARE_IS_OWN:
            return None
        if found := re.search(rf"\d[\d.,]*\s*[kmuµ]?\s?{unit}(?:\s*(?:AC|DC|rms)\b)?", piece, re.IGNORECASE):
            return found[0]
        return piece
    return None


def end_of(parameter: str, low: float, high: float) -> tuple[float, float]:
    """Return the end of a range that a parameter names: of `0.1 to 10 ohm` the lower for `esr_min`.

    >>> end_of("esr_min", 0.1, 10.0), end_of("supply", 4.5, 5.5)
    ((0.1, 0.1), (4.5, 5.5))
    """
    end = _ENDS.get(parameter)
    return (low, high) if end is None else ((low, low), (high, high))[end]


def _in_one_word(parameter: str, written: str) -> str:
    """Return a word of many spellings in one: `N-channel`, `NMOS` as N; `bidirectional` as two-way."""
    for pattern, word in _SPELLINGS.get(parameter, ()):
        if found := pattern.search(written.strip()):
            return found.expand(word)
    return written


def spelled(parameter: str, text: str) -> str:
    """Return the word a text says of a parameter, or an empty text where it says none.

    >>> spelled("channel", "N-channel MOSFET"), spelled("safety_class", "X2 capacitor"), spelled("channel", "MOSFET")
    ('N', 'X2', '')
    """
    return next((found.expand(word) for pattern, word in _SPELLINGS[parameter] if (found := pattern.search(text))), "")


def text_of(value: Quantity | str) -> str:
    """Return a cell as it is written."""
    return value.strip() if isinstance(value, str) else value.text
