"""Zener diodes and suppressors: what they hold by their type number, and how softly they bend."""

import re
from functools import cache
from typing import NamedTuple

from reworkkit import tables
from reworkkit.compute.circuit.figures import around, exact, stated
from reworkkit.compute.circuit.parts import pins_only, polar_ends, unmodelled
from reworkkit.compute.circuit.wiring import Wiring, words_of
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis

_STAND_OFF = re.compile(
    r"^(?:SZ)?(?:SM[ABCD]F?J|SMAF|SMF|SMLJ|1\.5SMC(?=\d)|PESD|P?TVS|ESD\d+[A-Z]{0,2}|SD(?=\d)|SA(?=\d)|[135]{1,2}KP(?:A)?"
    r"|30KPA?|15KPA?|1SM[AB](?=\d)|BZW0[46][- ]?|ESDALC|ESDA|GSOT|SMS|CDSOD\d+-T?|DF2S)(\d+(?:[.V]\d+)?)(C?)",
    re.IGNORECASE,
)
_NOMINAL = re.compile(
    r"^(?:SZ)?(?:P[46]KE|1\.5KE|P6SMB|P4SMA|1\.5SMC|SM6T|SM15T|SMA6T|TPSM[BC])(\d+(?:[.V]\d+)?)(C?)", re.I
)
_VOLTS = (
    re.compile(r"(?<!\d)(\d{1,3})[VR](\d{1,2})(?!\d)", re.IGNORECASE),
    re.compile(r"(?<![\d.])(\d{1,3}\.\d{1,2})\s?V?(?!\d)", re.IGNORECASE),
    re.compile(
        r"(?:BZ[XTVDG]\d{2,3}[A-Z]?|MM\d?Z|ZMM|TZM?X?|NZX|PZU|P[DLT]Z|BZV\d\d|DDZ|MTZJ|RLZ|UDZ[SVW]*|[KGE]DZ|CMZ)"
        r"[-_ ]?[ABCF]?(\d{1,3})(?=[A-Z,/ -]|$)",
        re.I,
    ),
    re.compile(r"^Z[DYP]?[DY]?[-_ ]?(\d{1,3})(?!\d)V?", re.IGNORECASE),
    re.compile(r"DZ\d[A-Z](\d{3})", re.IGNORECASE),
    re.compile(r"(?<![\w.])(\d{1,3})\s?V(?![a-z\d])", re.IGNORECASE),
)
"""Where a Zener's voltage stands: `5V1`, `5.1`, `C12`, `ZD12`, `051`, `12 V`."""
_HIGHEST_V = 400.0
_OTHER_FIGURES = re.compile(r"(?<![\w.])\d+(?:\.\d+)?\s?(?:m?W|m?A|%)(?![a-z])", re.IGNORECASE)
"""Watts, amps and tolerance are no volts: `12V 1.3W`."""
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_WATT = re.compile(r"(?<![\w.])(\d(?:[.,]\d+)?)\s?W(?![a-z])|(?<![\w.])(\d{3})\s?mW", re.IGNORECASE)


class Zener(NamedTuple):
    """What a type number tells: volts at a current [A]; the current is None where the series does not state it."""

    volts: float
    at: float | None


def breakdown(wiring: Wiring, part: Part) -> list[Element]:
    """Return a Zener diode or a suppressor; its cathode is taken to be at the positive rail where it stands at one."""
    zener = part.identity.kind == "diode_zener"
    if not zener and len(wiring.nets_of(part.ref)) > len(("anode", "cathode")):
        return _clamps(wiring, part)
    ends = wiring.two_ends(part)
    figures = _zener(wiring, part) if zener else _suppressor(wiring, part)
    if ends is None:
        return [] if len(wiring.nets_of(part.ref)) == 1 else unmodelled(wiring, part)
    if figures is None:
        wiring.ask((part.ref,), message("circuit-no-breakdown"), f'[parts] {part.ref} = {{ volts = "5.6 V" }}')
        # Whoever chose a suppressor chose one that its line does not reach: it does nothing there.
        return pins_only(wiring, part) if zener else []
    if part.identity.kind == "tvs_two_way" or (not zener and _two_way(part)):
        return [Element("tvs_two_way", part.ref, ends, figures)]
    pair, told = _way_round(wiring, part, ends)
    parameters = {**wiring.drop("zener_forward" if zener else "tvs_forward"), **figures}
    return [Element("zener" if zener else "tvs", part.ref, pair, parameters, told)]


def _way_round(wiring: Wiring, part: Part, ends: tuple[str, str]) -> tuple[tuple[str, str], tuple[Message, ...]]:
    """Return anode and cathode: by names, by the leads of its outline, by the rail or ground it stands at, by pin 1."""
    if wiring.by_role(part, "anode") and wiring.by_role(part, "cathode"):
        return polar_ends(wiring, part, "anode", "cathode", ends)
    anode, cathode = wiring.number(part, "1"), wiring.number(part, "3")
    if part.identity.outline.startswith(("SOT-23", "SOT-323")) and anode and cathode and anode != cathode:
        told = message("circuit-role-by-outline", ref=part.ref, order="A K", pins="1 3")
        return (anode, cathode), (told,)
    for one, other in (ends, ends[::-1]):
        if other == wiring.ground and part.ref not in wiring.cathodes and _stands_above(wiring, one):
            by_rail = message("circuit-role-by-rail", ref=part.ref, net=one)
            by_habit = message("circuit-role-above-ground", ref=part.ref, net=one)
            return (other, one), (by_rail if wiring.is_positive_rail(one) else by_habit,)
    return polar_ends(wiring, part, "anode", "cathode", ends)


def _stands_above(wiring: Wiring, net: str) -> bool:
    """Return whether a net is above ground: a positive rail, or nothing on the board is meant to be below."""
    below = any((band.nominal or 0.0) < 0 for band, _ in wiring.rails.values())
    return wiring.is_positive_rail(net) or not (below or any(_BELOW.match(name) for name in wiring.board.nets))


_BELOW = re.compile(r"/?(?:VEE|VNEG|NEG|V-|-V)(?![A-Z])", re.IGNORECASE)
"""Names of nets below ground."""


def _zener(wiring: Wiring, part: Part) -> dict[str, Band] | None:
    """Return breakdown, its current, slope and knee of a Zener diode, or None where its voltage is not known."""
    percent = wiring.figure("zener_tolerance")
    told = _by_number(part)
    said = stated(wiring.facts(part.ref).volts, percent)
    volts = said or (around(told.volts, percent, "V") if told else wiring.of_value(part, "V", "zener_tolerance"))
    if volts is None or not volts.nominal:
        return None
    at = told.at if told and told.at else wiring.figure("zener_test_current")
    knee, slope = _bend(volts.nominal, at)
    return {"breakdown": volts, "breakdown_at": exact(at, "A"), "slope": slope, "knee": knee}


def _by_number(part: Part) -> Zener | None:
    identity = part.identity
    texts = dict.fromkeys((*identity.type_numbers, identity.description.strip()))
    for text in (_DECIMAL_COMMA.sub(".", text) for text in texts):
        if text and (found := zener_of(text)):
            watt = _WATT.search(words_of(part))
            power = 0.0 if watt is None else float(watt[1].replace(",", ".")) if watt[1] else float(watt[2]) / 1000
            return found if found.at or power < 1 else Zener(found.volts, 0.25 * power / found.volts)
    return None


def zener_of(text: str) -> Zener | None:
    """Return what the number or value of a Zener diode names; None where it names nothing.

    >>> [zener_of(t).volts for t in ("BZX84C5V1", "1N4733A", "MMSZ5245BT1G", "BZX55C12", "5.1V 0.5W", "1.3W 12V")]
    [5.1, 5.1, 15.0, 12.0, 5.1, 12.0]
    >>> zener_of("BZX84"), zener_of("1N4148")
    (None, None)
    """
    for pattern, volts in _series().items():
        if (found := pattern.match(text)) and found["n"] in volts:
            return volts[found["n"]]
    if re.match(r"^(?:1N|MMSZ|MMBZ|TZM|ZMM|DDZ)\d{4}", text, re.IGNORECASE):
        return None
    bare = _OTHER_FIGURES.sub(" ", re.sub(r"TE[-_ ]?1[17]", "", text))
    for pattern in _VOLTS:
        if found := pattern.search(bare):
            figures = [one for one in found.groups() if one is not None]
            value = float(".".join(figures)) if "." not in figures[0] else float(figures[0])
            value = value / 10 if pattern is _VOLTS[4] else value
            if 1.2 <= value <= _HIGHEST_V:
                return Zener(value, 1e-3 if re.match(r"^DZ\d", text) else None)
    return None


@cache
def _series() -> dict[re.Pattern[str], dict[str, Zener]]:
    """Return the series whose numbers only count: pattern -> number -> volts and test current."""
    found = {}
    for row in tables.rows("zener_series"):
        first, volts = int(row["first"]), [float(one) for one in row["volts"].split()]
        made = {}
        for step, one in enumerate(volts):
            at = float(row["at_a"]) if row["at_a"] else float(row["watt"]) / one
            made[str(first + step)] = Zener(one, min(at, float(row["most_a"])) if row["most_a"] else at)
        found[re.compile(row["pattern"], re.IGNORECASE)] = made
    return found


def _bend(volts: float, at: float) -> tuple[Band, Band]:
    """Return knee and slope: below about 6 V a Zener bends softly, above it is sharp and its slope grows.

    The table's figures are those of half-watt types at 5 mA; a larger chip at a larger current has less slope.
    """
    rows = [{name: float(row[name]) for name in ("volts", "knee_v", "slope_ohm")} for row in tables.rows("zener_knees")]
    near = min(rows, key=lambda row: abs(row["volts"] - volts) / row["volts"])
    ohm = max(0.3, near["slope_ohm"] * min(1.0, 5e-3 / at))
    knee = near["knee_v"]
    return Band(0.5 * knee, knee, 1.5 * knee, "V", BandBasis.TABLE), Band(
        0.4 * ohm, ohm, 2.5 * ohm, "ohm", BandBasis.TABLE
    )


def _two_way(part: Part) -> bool:
    for text in part.identity.type_numbers:
        found = _NOMINAL.match(text) or _STAND_OFF.match(text)
        if found:
            return bool(found[2])
    return False


def _suppressor(wiring: Wiring, part: Part) -> dict[str, Band] | None:
    volts = _suppressor_volts(wiring, part)
    if volts is None:
        return None
    at, slope = wiring.figure("tvs_test_current"), wiring.figure("tvs_resistance")
    return {"breakdown": volts, "breakdown_at": exact(at, "A"), "slope": exact(slope, "ohm")}


def _suppressor_volts(wiring: Wiring, part: Part) -> Band | None:
    """Return the breakdown of a suppressor: named by its number, else by the stand-off that number or list tell."""
    identity, facts = part.identity, wiring.facts(part.ref)
    texts = identity.type_numbers
    nominal = next((found for text in texts if (found := _NOMINAL.match(text))), None)
    if nominal and not facts.volts:
        return around(_decimal(nominal[1]), 5, "V")
    written = next((found for text in texts if (found := _STAND_OFF.match(text))), None)
    listed = identity.value.volts or (
        identity.value.main if identity.value.main and identity.value.main.unit == "V" else None
    )
    said = facts.volts or (None if written else listed)
    stand_off = float(said.value) if said else _decimal(written[1]) if written else _in_words(part)
    ratio = wiring.default("tvs_breakdown_ratio")
    if stand_off is None or ratio.low is None or ratio.nominal is None or ratio.high is None:
        return None
    return Band(stand_off * ratio.low, stand_off * ratio.nominal, stand_off * ratio.high, "V", BandBasis.TABLE)


def _decimal(text: str) -> float:
    return float(re.sub("V", ".", text, flags=re.IGNORECASE))


def _in_words(part: Part) -> float | None:
    text = f"{part.identity.value.text}; {part.identity.description}"
    found = {float(one.replace(",", ".")) for one in re.findall(r"(?<![\w.])(\d{1,3}(?:[.,]\d)?)\s?V(?![a-z])", text)}
    return next(iter(found)) if len(found) == 1 else None


ARRAY_VOLTS = Band(5.5, 7.5, 45.0, "V", BandBasis.TABLE)
"""Breakdown of a clamp array: from 6 V for 5 V lines to 40 V for a bus of vehicles; from memory."""


def _clamps(wiring: Wiring, part: Part) -> list[Element]:
    """Return an array of clamps as one from each of its lines to ground; nothing below its stand-off.

    Where it has no pin at ground nothing is known of it but that it takes no current in normal work.
    """
    nets = [net for net in wiring.nets_of(part.ref) if net in wiring.board.nets]
    if wiring.ground not in nets:
        return []
    volts = _suppressor_volts(wiring, part) or _above_lines(wiring, nets)
    slope = {
        "breakdown": volts,
        "breakdown_at": exact(wiring.figure("tvs_test_current"), "A"),
        "slope": exact(1.0, "ohm"),
    }
    told = (message("circuit-clamp-array", ref=part.ref),)
    parameters = {**wiring.drop("esd_diode"), **slope}
    lines = [net for net in nets if net != wiring.ground]
    return [Element("tvs", part.ref, (wiring.ground, net), parameters, told) for net in lines]


def _above_lines(wiring: Wiring, nets: list[str]) -> Band:
    """Return the usual breakdown of an array, above the highest rail that it stands at."""
    highest = max((wiring.rails[net][0].nominal or 0.0 for net in nets if wiring.is_rail(net)), default=0.0)
    nominal = max(ARRAY_VOLTS.nominal or 0.0, 1.4 * highest)
    low, high = max(ARRAY_VOLTS.low or 0.0, 1.15 * highest), max(ARRAY_VOLTS.high or 0.0, 2 * highest)
    return Band(low, nominal, high, "V", BandBasis.TABLE)
