"""LEDs of one or several chips: which pins each has, and what it drops by colour."""

import re

from reworkkit.compute.circuit.chips import between
from reworkkit.compute.circuit.diodes import Pair, common_end, junctions, named_ends, roles, with_forward
from reworkkit.compute.circuit.figures import exact, led_key, led_key_of_number, led_keys
from reworkkit.compute.circuit.parts import pins_only, unmodelled
from reworkkit.compute.circuit.wiring import Wiring, words_and_notes, words_of
from reworkkit.model.messages import Message, message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.values import Band

Chip = tuple[Pair, str]
"""Anode and cathode, and the row of `forward_drops.csv`."""
_WITH_CHIP = re.compile(
    r"WS28|SK68|SK98|APA10|neopixel|addressable|driver inside|blinking|flashing|(?:5|12|24) ?V LED|LED (?:5|12|24) ?V|"
    r"led[ -]?(?:strip|tape|streifen|leiste)|(?:panel|volt|am?|thermo)[ -]?meter|term[oó]metro|miernik|anzeigemodul",
    re.I,
)
"""What has a circuit or a resistor inside is no plain LED."""
_TWO_COLOURS = re.compile(
    r"(?:two|bi|dual|zwei|2)[ -]?(?:colou?r|farb|couleur)|duo[ -]?led|bicolore?|anti[ -]?parallel", re.I
)
_NAME_COLOURS = {"R": "led_red", "G": "led_green", "B": "led_blue", "Y": "led_yellow", "W": "led_white",
                 "O": "led_orange", "RT": "led_red", "GN": "led_green", "BL": "led_blue"}  # fmt: skip


def led(wiring: Wiring, part: Part) -> list[Element]:
    """Return one element a chip: two leads, two or three colours with a common lead, or a bar of several."""
    if _WITH_CHIP.search(words_of(part)):
        return _module(wiring, part)
    chips, told = _chips(wiring, part)
    several = _string(f"{words_and_notes(part)}, {wiring.facts(part.ref).role or ''}")
    if any(_is_across(wiring, pair, _several(wiring.drop(key), several)) for pair, key in chips):
        return _module(wiring, part)
    if not chips:
        if len(wiring.nets_of(part.ref)) > 2:
            answer = f'[parts] {part.ref} = {{ pins = {{ A_RED = "1", K = "2", A_GREEN = "3" }} }}'
            wiring.ask((part.ref,), message("circuit-no-pins"), answer)
            return pins_only(wiring, part)
        return unmodelled(wiring, part)
    if any(key == "led_unknown" for _, key in chips):
        told = (*told, message("circuit-led-colour", ref=part.ref))
    rated = _rated_current(wiring, part, max(wiring.drop(key)["forward"].nominal or 2.0 for _, key in chips))
    figures = {key: _figures(wiring, part, key, rated, several) for _, key in chips}
    return [Element("led", part.ref, pair, figures[key], told) for pair, key in chips]


def _figures(wiring: Wiring, part: Part, key: str, rated: float, several: tuple[int, int]) -> dict[str, Band]:
    """Return the figures of a chip, or of several in a row: a drop stated far above that of one is that of the row."""
    usual = wiring.drop(key)
    own = with_forward(wiring, part, usual)
    of_row = (own["forward"].nominal or 0.0) > OF_A_ROW * (usual["forward"].high or 0.0)
    return _several(_of_size(usual, own, rated), (1, several[1]) if of_row else several)


OF_A_ROW = 1.3
"""A stated drop so many times that of one chip is that of all in a row."""
_NUMBERS = {
    word: n
    for n, words in enumerate(
        (
            "two zwei deux dos due dois twee",
            "three drei trois tres tre três drie",
            "four vier quatre cuatro quattro quatro",
        ),
        start=2,
    )
    for word in words.split()
} | {"five": 5, "six": 6, "seven": 7, "eight": 8, "ten": 10, "twelve": 12}
_IN_A_ROW = re.compile(
    rf"(?<![\w.])(\d{{1,2}}|{'|'.join(_NUMBERS)})\s?x?\s(?:\w+\s){{0,4}}?(?:in|en|em)\s(s[ée]rie?s?|reihe|parall?[eè]le?l?o?)(?!\w)",
    re.IGNORECASE,
)


def _string(words: str) -> tuple[int, int]:
    """Return how many LEDs words tell in series, and how many side by side.

    >>> _string("3x white 1W star, three in series"), _string("lamp, three white LEDs in parallel"), _string("red 5mm")
    ((3, 1), (1, 3), (1, 1))
    """
    counts = {"series": 1, "side": 1}
    for number, how in _IN_A_ROW.findall(words):
        count = int(number) if number.isdigit() else _NUMBERS[number.casefold()]
        counts["side" if how.casefold().startswith("par") else "series"] = max(count, 1)
    return counts["series"], counts["side"]


def _several(figures: dict[str, Band], several: tuple[int, int]) -> dict[str, Band]:
    """Return the figures of one LED as those of so many in series and so many side by side, each like the other."""
    series, side = several
    factors = {"forward": series, "ideality": series, "series": series / side, "at": side}
    return {name: _times(band, factors.get(name, 1.0)) for name, band in figures.items()}


def _times(band: Band, factor: float) -> Band:
    low, nominal, high = (None if end is None else end * factor for end in (band.low, band.nominal, band.high))
    return Band(low, nominal, high, band.unit, band.basis, band.assumed)


def _module(wiring: Wiring, part: Part) -> list[Element]:
    """Return something with more inside than an LED: a chip where it stands between a rail and ground alone."""
    rails = [net for net in wiring.nets_of(part.ref) if wiring.is_rail(net)]
    if len(rails) == 1 and set(wiring.nets_of(part.ref)) == {rails[0], wiring.ground}:
        return between(wiring, part.ref, rails, wiring.ground)
    return unmodelled(wiring, part)


def _is_across(wiring: Wiring, pair: Pair, drop: dict[str, Band]) -> bool:
    """Return whether something called an LED stands across a rail of far more volts: it has more inside."""
    anode, cathode = pair
    rail = wiring.rails.get(anode)
    return bool(rail and cathode == wiring.ground and (rail[0].nominal or 0.0) > 1.2 * (drop["forward"].high or 0.0))


SMALL_A = 0.02
"""The current that the figures of the table are of: that of small indicator types."""
_AMPS, _WATTS = (re.compile(rf"(?<![\w.,])(\d+(?:[.,]\d+)?)\s?{unit}(?![a-z])", re.I) for unit in ("(m?)A", "(m?)W"))


def _rated_current(wiring: Wiring, part: Part, volts: float) -> float:
    """Return the current an LED is made for: as stated, else its power over its drop, else a small one's."""
    if amps := wiring.facts(part.ref).amps:
        return max(float(amps.value), SMALL_A)
    for pattern, over in ((_AMPS, 1.0), (_WATTS, volts)):
        if found := pattern.search(words_of(part)):
            return max(float(found[1].replace(",", ".")) * (1e-3 if found[2] else 1.0) / over, SMALL_A)
    return SMALL_A


def _of_size(usual: dict[str, Band], own: dict[str, Band], rated_a: float) -> dict[str, Band]:
    """Return the figures of an LED for more current: the same drop at as much more, the resistance as much less.

    A drop that is stated for one of more current is meant at that current.
    """
    if rated_a < 3 * SMALL_A:
        return own
    more = rated_a / SMALL_A
    at, series = usual["at"].nominal or 0.0, usual["series"].nominal or 0.0
    meant = rated_a if own["forward"] != usual["forward"] else at * more
    return {**own, "at": exact(meant, "A"), "series": exact(series / more, "ohm")}


def _chips(wiring: Wiring, part: Part) -> tuple[list[Chip], tuple[Message, ...]]:
    nets, pins = wiring.nets_of(part.ref), wiring.pins(part.ref)
    if len(nets) > 2:
        if named := _by_names(wiring, part):
            return named, ()
        if _is_bar(part, len(pins)):
            return _bar(wiring, part)
        return _by_order(wiring, part)
    colours = _colours(part)
    pairs, told = junctions(wiring, part)
    if told and len(pairs) == 1 and (upright := _by_ends(wiring, nets)) not in (None, pairs[0]):
        pairs, told = [upright or pairs[0]], (message("circuit-led-by-nets", ref=part.ref, net=(upright or nets)[0]),)
    if len(pairs) == 1 and len(nets) == 2 and len(pins) == 2 and _TWO_COLOURS.search(words_of(part)):
        other = colours[1] if len(colours) > 1 else colours[0]
        return [(pairs[0], colours[0]), (pairs[0][::-1], other)], told
    return [(pair, colours[min(n, len(colours) - 1)]) for n, pair in enumerate(pairs)], told


def _by_ends(wiring: Wiring, nets: list[str]) -> Pair | None:
    """Return anode and cathode of an LED that hangs at ground or at a positive rail, where nothing is below ground.

    An LED is there to light: the numbering of its lands tells less than that.
    """
    below = any((band.nominal or 0.0) < 0 for band, _ in wiring.rails.values())
    if len(nets) != 2 or below:
        return None
    one, other = nets
    if wiring.ground in nets:
        return (other, one) if one == wiring.ground else (one, other)
    high = [net for net in nets if wiring.is_positive_rail(net)]
    if len(high) == 1:
        return (high[0], other if high[0] == one else one)
    return None


def _colours(part: Part) -> tuple[str, ...]:
    """Return the colours of a part's chips, by its number, else by its words; never empty."""
    for number in part.identity.type_numbers:
        if number and (key := led_key_of_number(number)):
            return (key,)
    words = words_of(part)
    found = led_keys(words)
    if len(found) > 1 and (_TWO_COLOURS.search(words) or "/" in words or "rgb" in words.casefold()):
        return found
    return (led_key(words),)


def _of_name(name: str) -> str | None:
    """Return the colour that a pin's name tells.

    >>> _of_name("A_RED"), _of_name("AG"), _of_name("K2"), _of_name("ANODE_BLUE")
    ('led_red', 'led_green', None, 'led_blue')
    """
    rest = re.sub(r"^(?:ANODE|CATHODE|KATHODE|AN|CA|A|K|C)(?=[_-]|[A-Z]{1,2}\d?$)[_-]?", "", name).strip("_-0123456789")
    key = led_key(rest.lower())
    return _NAME_COLOURS.get(rest) if key == "led_unknown" else key


def _by_names(wiring: Wiring, part: Part) -> list[Chip]:
    """Return the chips by pin names: anodes and a cathode, an anode and cathodes, A1 K1 A2 K2, R G B and a common."""
    anodes, cathodes, both = named_ends(wiring, part)
    colours, at = _colours(part), wiring.node
    plain = [(name, pin) for name, pins in roles(wiring, part).items() for pin in pins if name in _NAME_COLOURS]
    if plain and not anodes and not cathodes and len(both) == 1:
        middle = at(both[0])
        cathode = _common_is_cathode(wiring, part, middle)
        if cathode is None:
            return []
        return [((at(p), middle) if cathode else (middle, at(p)), _NAME_COLOURS[name]) for name, p in plain]
    if plain and len(anodes) + len(cathodes) == 1:
        (_, one), is_cathode = (anodes or cathodes)[0], bool(cathodes)
        return [((at(p), at(one)) if is_cathode else (at(one), at(p)), _NAME_COLOURS[name]) for name, p in plain]
    if not anodes or not cathodes:
        return []
    found: list[tuple[Pair, str | None]] = []
    for name, anode in anodes:
        for other, cathode_pin in cathodes:
            single = len(anodes) == 1 or len(cathodes) == 1
            alike = re.sub(r"^(?:ANODE|AN|A)", "", name) == re.sub(r"^(?:CATHODE|KATHODE|CA|KA|K|C)", "", other)
            if single or alike:
                found.append(((at(anode), at(cathode_pin)), _of_name(name) or _of_name(other)))
    pairs = [(pair, key) for pair, key in found if pair[0] != pair[1]]
    return [(pair, key or colours[min(n, len(colours) - 1)]) for n, (pair, key) in enumerate(pairs)]


def _common_is_cathode(wiring: Wiring, part: Part, node: str) -> bool | None:
    """Return whether the common lead is the cathode: by the words, else by what it is on; None where neither tells."""
    told = common_end(wiring, part)
    if told:
        return told == "K"
    if node == wiring.ground:
        return True
    return False if wiring.is_positive_rail(node) else None


def _by_order(wiring: Wiring, part: Part) -> tuple[list[Chip], tuple[Message, ...]]:
    """Return the chips of three leads (common in the middle) or four in a row (common second: R, common, G, B)."""
    pins = wiring.pins(part.ref)
    numbers = [pin.number for pin in pins]
    if numbers not in (["1", "2", "3"], ["1", "2", "3", "4"]):
        return [], ()
    middle = wiring.node(pins[1])
    cathode = _common_is_cathode(wiring, part, middle)
    if cathode is None or (len(pins) == 4 and len(_colours(part)) != 3):
        return [], ()
    colours = _colours(part)
    others = [wiring.node(pin) for n, pin in enumerate(pins) if n != 1]
    pairs = [(other, middle) if cathode else (middle, other) for other in others]
    told = message("circuit-role-by-outline", ref=part.ref, order="K" if cathode else "A", pins="2")
    chips = [(pair, colours[min(n, len(colours) - 1)]) for n, pair in enumerate(pairs) if pair[0] != pair[1]]
    return chips, (told,)


def _is_bar(part: Part, count: int) -> bool:
    bar = re.search(r"bar|segment|array|leiste|zeile", words_of(part), re.I)
    return bool(bar) and count > 4 and not re.search(r"(?:7|seven)[ -]?seg|digit|matrix", words_of(part), re.I)


def _bar(wiring: Wiring, part: Part) -> tuple[list[Chip], tuple[Message, ...]]:
    """Return the chips of a light bar: anodes 1 to n, the cathode of each opposite to it."""
    package = part.identity.package
    numbers = [int(pin.number) for pin in wiring.pins(part.ref) if pin.number.isdigit()]
    last = package.pins if package and package.pins >= max(numbers, default=0) else max(numbers, default=0)
    key, found = _colours(part)[0], []
    for n in range(1, last // 2 + 1):
        ends = wiring.number(part, str(n)), wiring.number(part, str(last + 1 - n))
        if ends[0] and ends[1] and ends[0] != ends[1]:
            found.append(((ends[0], ends[1]), key))
    return found, (message("circuit-role-by-outline", ref=part.ref, order="A", pins=f"1 to {last // 2}"),)
