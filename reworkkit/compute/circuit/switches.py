"""Switches and jumpers: open or closed by what the list or [parts] says, else by what they are and where they stand."""

import re
from collections.abc import Iterable, Iterator

from reworkkit.compute.circuit.diodes import roles
from reworkkit.compute.circuit.parts import pins_only, thermistor
from reworkkit.compute.circuit.slides import CALLS_SLIDES, contact, slides
from reworkkit.compute.circuit.wiring import CHIPS, MOST_SERIES_OHM, Wiring, words_of
from reworkkit.compute.formulas.closure import closure
from reworkkit.model.connections import LINKS
from reworkkit.model.messages import message
from reworkkit.model.part import Part
from reworkkit.model.results import Element
from reworkkit.model.vocabulary import Fit

Pair = tuple[str, str]
_NO_NAME = r"(?! (?:push[- ]?button|button|key|limit|end|position|command)(?![a-z]))"
"""An `open button` or `closed limit switch` is called so: that tells nothing of how it stands."""
_CLOSED = re.compile(
    rf"(?<![a-z])(?:closed{_NO_NAME}|bridged|shorted|soldered shut|"
    r"(?:cap|jumper|link) (?:on|fitted|set|placed|plugged|inserted|in place)|"
    r"with (?:cap|jumper)|(?:is|set|turned|switched) on|"
    r"(?<!not )(?:pressed|held(?! (?:open|off|low|high|in reset)))|geschlossen|gebrückt|gedrückt|ferm[ée]e?|pont[ée]|"
    r"appuyée?|cerrado|pulsado|chiuso|premuto|замкнут\w*)(?![a-z/])",
    re.IGNORECASE,
)
_OPEN = re.compile(
    rf"(?<![a-z])(?:open(?:ed)?{_NO_NAME}|let go|not (?:fitted|closed|bridged|set|pressed)|no cap|"
    r"(?:is|set|turned|switched) off|released|unbridged|offen|losgelassen|ouverte?|relâchée?|abierto|suelto|aperto|"
    r"rilasciato|разомкнут\w*)(?![a-z/])",
    re.IGNORECASE,
)
_ON_OFF = re.compile(r"on\s?[-/]\s?off|off\s?[-/]\s?on|open\s?[-/]\s?closed|(?:on|ein)[-/ ]+(?:aus)", re.IGNORECASE)
"""What a switch can do, not what it does."""
_NORMALLY_CLOSED = re.compile(
    r"normally[ -]closed|(?<![a-z])n\.?c\.?(?![a-z])|öffner|oeffner|break contact|emergency|"
    r"e-?stop|not-?halt|notaus|not-aus|"
    r"arr[êe]t d.urgence|emergenza|th?ermostat|thermal (?:switch|cut|protector|fuse)|klixon|"
    r"bimetal|ksd ?[39]|over[- ]?temp\w* switch|"
    r"door (?:switch|interlock)|interlock|tilt|lid switch",
    re.IGNORECASE,
)
_NORMALLY_OPEN = re.compile(
    r"push|button|tact|momentary|taster|taste(?![a-z])|bouton|pulsador|pulsante|кнопк|按键|normally[ -]open|"
    r"(?<![a-z])n\.?o\.?(?![a-z])|reset|reed|float|limit switch|6x6|schließer|spst-no|bell",
    re.IGNORECASE,
)
_STAYS = re.compile(
    r"slide|toggle|rocker|power|main|latching|maintained|self[- ]lock|schiebe|kipp|wipp|haupt|"
    r"on\s?[-/]\s?off|glissi|bascul|"
    r"deslizante|levetta|тумблер|выключател|spdt|dpdt|key ?switch|schalter|interrupteur|interruptor",
    re.IGNORECASE,
)
_SEVERAL = re.compile(
    r"(?<![a-z])(?:dip|dil|rotary|encoder|coded|hex|bcd|dreh|joystick|keypad|thumbwheel)", re.IGNORECASE
)
_POSITION = re.compile(
    r"(?<![\d.])(\d)(?:\s?(?:-|to|–|\+|&)\s?|\s(?:mit|und|and|et|avec|y|con|e|en|i)\s|"
    r"\s(?:joined|linked|bridged|connected|tied|strapped|shorted|wired)\s(?:to|with)\s)(\d)(?![\d.])"
)
_LOW_SERIES = LINKS | {
    "diode",
    "diode_schottky",
    "diode_dual",
    "mosfet",
    "transistor",
    "thermistor",
    "bridge_rectifier",
    "switch",
}
"""What lets the power of a supply through to a switch or from it."""
_BIG_FARAD = 4.6e-6
"""A capacitor from here on is the reservoir of something that draws."""
_FED = frozenset(["linear_regulator", "switching_regulator", "mosfet", "transistor_bipolar", "relay", "motor"])


def switch(wiring: Wiring, part: Part) -> list[Element]:
    """Return a switch: as stated; a push button open, an emergency stop closed; one in the way of the power on.

    Anything else is a question with the line that states it.
    """
    ends = _poles(wiring, part)
    said = _said(wiring, part)
    positions, row = _positions(wiring, part), slides(wiring, part)
    if row and (not positions or CALLS_SLIDES.search(wiring.facts(part.ref).role or "")):
        return row
    if positions:
        return _stated_positions(wiring, part, positions)
    if said is not None and ends:
        slug = "circuit-switch-stated-closed" if said else "circuit-switch-stated-open"
        return [contact(part, pair, said, message(slug, ref=part.ref)) for pair in ends[: None if said else 1]]
    words = f"{words_of(part)} {part.identity.package_text}"
    if not ends:
        return _no_poles(wiring, part)
    if _NORMALLY_CLOSED.search(words):
        return [contact(part, pair, True, message("circuit-switch-rests-closed", ref=part.ref)) for pair in ends]
    if _NORMALLY_OPEN.search(words) and not re.search(r"latching|self[- ]lock|maintained|rastend", words, re.I):
        return [contact(part, pair, False, message("circuit-switch-open")) for pair in ends]
    series = [pair for pair in ends if _feeds(wiring, part, pair)]
    if series and len({pair[0] for pair in series}) == len(series) and not _SEVERAL.search(words):
        nets = [_fed_end(wiring, part, pair) for pair in series]
        told = [message("circuit-switch-in-power", ref=part.ref, net=net) for net in nets]
        return [contact(part, pair, True, why) for pair, why in zip(series, told, strict=True)]
    if len(ends) == 1 and not _STAYS.search(words) and not _SEVERAL.search(words):
        return [contact(part, ends[0], False, message("circuit-switch-open"))]
    return _asked(wiring, part)


def contact_outside(wiring: Wiring, part: Part) -> list[Element]:
    """Return the contact that a plug or unknown part of two nets stands for whose `role` says that it is closed."""
    nets, role = wiring.nets_of(part.ref), wiring.facts(part.ref).role or ""
    behind = _CONTACT.search(f"{words_of(part)} {role}") or _SHUT.search(role)
    if behind and (positions := _positions_in(wiring, part, "; ".join(clauses_that_hold(role)))):
        return _stated_positions(wiring, part, positions)
    if len(nets) != len(("one", "other")) or not behind or not _says_closed(role):
        return []
    return [contact(part, (nets[0], nets[1]), True, message("circuit-switch-stated-closed", ref=part.ref))]


def clauses_that_hold(words: str) -> list[str]:
    """Return the clauses of a role that do not deny what they name: `link between 2 and 3 removed` joins nothing."""
    return [clause for clause in _CLAUSE.split(words) if not _DENIES.search(clause)]


_CLAUSE = re.compile(r"[;:]\s|,\s|\.\s")
_DENIES = re.compile(
    r"(?<![a-z])(?:not|no|removed|open|without|missing|off|cut|nicht|kein\w*|ohne|offen|entfernt|sans|sin|senza)(?![a-z])",
    re.IGNORECASE,
)


_CONTACT = re.compile(
    r"contact|switch|button|kontakt|schalter|taster|interrupteur|bouton|contacto|interruptor|contatto|interruttore|remote"
    r"|link|jumper|bridge|brücke|float|reed|thermostat|mando|télécommande|interlock|e-?stop|not-?aus|not-?halt",
    re.IGNORECASE,
)
_SHUT = re.compile(
    r"(?<!not )(?:closed|bridged|geschlossen|gebrückt|ferm[ée]e?|pontée?|cerrado|chiuso)(?!\w)", re.IGNORECASE
)
"""What only a contact can be: a load that is "on" is none."""


def _says_closed(words: str) -> bool | None:
    """Return whether words say closed or open; None where they say neither, or both."""
    plain = _CAN_DO.sub(" ", _ON_OFF.sub(" ", _AT_LAST.split(words)[-1]))
    if _POSITION.search(plain):
        return None
    opened = bool(_OPEN.search(plain) or _STANDS_OFF.search(plain))
    closed = bool(_CLOSED.search(_NOT.sub(" ", plain)) or _STANDS_ON.search(plain))
    return closed if closed != opened else None


_AT_LAST = re.compile(r"(?<![a-z])(?:(?:and )?then|danach|dann|puis|ensuite|luego|después|poi)(?![a-z])", re.IGNORECASE)
"""Between what was done first and how it stands now: `pressed briefly, then let go`."""


def _asked(wiring: Wiring, part: Part) -> list[Element]:
    nets = wiring.nets_of(part.ref)
    if len(nets) < 2:
        return []
    simple = len(wiring.pins(part.ref)) <= 2
    answer = f'[parts] {part.ref} = {{ role = "{"closed" if simple else "2-3 closed"}" }}'
    role = wiring.facts(part.ref).role
    why = message("circuit-role-not-read", role=role) if role else message("circuit-switch-position")
    wiring.ask((part.ref,), why, answer)
    return pins_only(wiring, part)


def _no_poles(wiring: Wiring, part: Part) -> list[Element]:
    return [] if len(wiring.nets_of(part.ref)) < 2 else _asked(wiring, part)


def _said(wiring: Wiring, part: Part) -> bool | None:
    """Return whether `role` of [parts], else the list, says closed or open; None where neither, or both."""
    for words in (wiring.facts(part.ref).role or "", words_of(part), _outline_words(part), _listed(part)):
        if (one := words.strip().casefold()) in ("on", "off", "ein", "aus"):
            return one in ("on", "ein")
        if (closed := _says_closed(words)) is not None:
            return closed
    return None


def _outline_words(part: Part) -> str:
    """Return the column of outlines of a jumper; of a switch only where what stands there is no outline."""
    text = part.identity.package_text
    if part.identity.kind.endswith("jumper"):
        return text.replace("_", " ")
    return "" if part.identity.package or "_" in text else text


def _listed(part: Part) -> str:
    """Return the remarks of the list about a part, where nothing else says how it stands."""
    return ", ".join(note.text for note in part.notes if note.source == "list")


_STANDS_ON, _STANDS_OFF = (
    re.compile(rf"(?:^|[,:;(]\s?|(?:contact|kontakt|schalter|switch)\s)(?:{words})\s?(?:$|[,;.)])", re.IGNORECASE)
    for words in ("on|zu|ein", "off|auf|aus")
)
"""How it stands, as a word for itself: `slide switch, on`, `Kontakt zu`."""
_NOT = re.compile(r"not (?:fitted|closed|bridged|set)", re.IGNORECASE)
_CAN_DO = re.compile(r"normally[ -](?:open|closed)|(?:spst|spdt|dpst)[ -]\w+|on[- ]\w*[- ]?on|fan on", re.I)


_JOINS = re.compile(
    r"clos|jump|bridg|set|joined|fitted|cap|geschl|gebr|position|stand|link|placed|wire|plugged|(?<![a-z])on(?![a-z])",
    re.IGNORECASE,
)


def _positions(wiring: Wiring, part: Part) -> list[Pair]:
    """Return the pin numbers that are joined as `role` or the list tells: "2-3 closed", "jumper 1-2"."""
    told = (_positions_in(wiring, part, words) for words in (wiring.facts(part.ref).role or "", words_of(part)))
    return next(filter(None, told), [])


def _positions_in(wiring: Wiring, part: Part, words: str) -> list[Pair]:
    numbers = {pin.number for pin in wiring.pins(part.ref)}
    found = [(a, b) for a, b in _POSITION.findall(words) if a != b and {a, b} <= numbers]
    return found if _JOINS.search(words) else []


def _stated_positions(wiring: Wiring, part: Part, positions: Iterable[Pair]) -> list[Element]:
    told = message("circuit-switch-stated-closed", ref=part.ref)
    nodes = [(wiring.number(part, a), wiring.number(part, b)) for a, b in positions]
    return [contact(part, (a, b), True, told) for a, b in nodes if a and b and a != b]


def _poles(wiring: Wiring, part: Part) -> list[Pair]:
    """Return the pairs of nets that a contact may join: two nets, or a common pin and its throws.

    A tact switch has each lead twice (1 and 2, 3 and 4): one pair. Six leads are two poles, their middles common.
    """
    nets = wiring.nets_of(part.ref)
    pins = wiring.pins(part.ref)
    if len(nets) == 2:
        return [(nets[0], nets[1])]
    if len(nets) < 2:
        return []
    common = _common(wiring, part)
    if common is not None:
        return [(common, net) for net in nets if net != common]
    numbers = [pin.number for pin in pins]
    at = wiring.number
    if len(pins) == 4 and numbers == ["1", "2", "3", "4"] and _NORMALLY_OPEN.search(words_of(part)):
        return [(str(at(part, "1")), str(at(part, "3")))]
    if numbers == ["1", "2", "3"]:
        return [(str(at(part, "2")), str(at(part, n))) for n in ("1", "3") if at(part, n) != at(part, "2")]
    if numbers == [str(n) for n in range(1, 7)]:
        pairs = [("2", "1"), ("2", "3"), ("5", "4"), ("5", "6")]
        return [(str(at(part, a)), str(at(part, b))) for a, b in pairs if at(part, a) != at(part, b)]
    return []


def _common(wiring: Wiring, part: Part) -> str | None:
    names = [p for name, ps in roles(wiring, part).items() if re.match(r"(?:COM(?:MON)?|C|P|POLE)$", name) for p in ps]
    return wiring.node(names[0]) if len(names) == 1 else None


def _feeds(wiring: Wiring, part: Part, pair: Pair) -> bool:
    """Return whether one end is fed by a supply, the other by nothing else, and something that needs power is there."""
    end = _fed_end(wiring, part, pair)
    return bool(end) and end != wiring.ground and _needs_power(wiring, part, end)


def _fed_end(wiring: Wiring, part: Part, pair: Pair) -> str:
    """Return the end that only the switch feeds, or nothing."""
    reached = [_reached(wiring, net, part.ref) for net in pair]
    supplies = {net for net, facts in wiring.board.facts.supplies.items() if net != wiring.ground}
    fed = [bool(nets & supplies) for nets in reached]
    if fed[0] == fed[1] or wiring.ground in pair:
        return ""
    end = pair[1] if fed[0] else pair[0]
    made = {net for net in wiring.board.facts.rails if wiring.board.facts.rails[net].made_by}
    return "" if reached[pair.index(end)] & made else end


def _reached(wiring: Wiring, start: str, without: str) -> set[str]:
    """Return the nets that low series parts join to one, without a part; ground is no way through."""

    def onward(near: set[str]) -> set[str]:
        refs = {ref for net in near for ref in _refs_on(wiring, net)} - {without}
        series = (ref for ref in refs if _is_series(wiring.board.parts[ref]))
        return {net for ref in series for net in wiring.nets_of(ref)} - {wiring.ground}

    return closure({start}, onward)


def _is_series(part: Part) -> bool:
    value = part.identity.value.main
    if part.identity.kind in ("resistor", "fusible_resistor"):
        return value is not None and value.unit == "ohm" and value.value <= MOST_SERIES_OHM
    return part.identity.kind in _LOW_SERIES


def _refs_on(wiring: Wiring, net: str) -> Iterator[str]:
    return (part.ref for part in wiring.parts_on(net) if part.fit is Fit.FIT)


def _needs_power(wiring: Wiring, part: Part, net: str) -> bool:
    """Return whether a net feeds something: a rail, a stated load, a regulator, a chip's supply, a big capacitor."""
    for near in _reached(wiring, net, part.ref):
        if wiring.is_rail(near) or near in wiring.board.facts.loads:
            return True
        if any(_draws(wiring, part, ref, near) for ref in _refs_on(wiring, near) if ref != part.ref):
            return True
    return False


def _draws(wiring: Wiring, part: Part, ref: str, net: str) -> bool:
    """Return whether a part takes its power from a net; one that a supply feeds elsewhere only listens there."""
    there = wiring.board.parts[ref]
    kind, main = there.identity.kind, there.identity.value.main
    if kind.startswith("capacitor"):
        big = main is not None and main.unit == "F" and float(main.value) >= _BIG_FARAD
        return big or "electrolytic" in kind
    if kind in ("tvs_one_way", "lamp", "supercapacitor"):
        return True
    if kind not in _FED and not (kind in CHIPS and _is_supply_pin(wiring, ref, net)):
        return False
    supplies = set(wiring.board.facts.supplies) - {wiring.ground}
    others = [node for node in wiring.nets_of(ref) if node not in (net, wiring.ground)]
    return not any(_reached(wiring, node, part.ref) & supplies for node in others)


def _is_supply_pin(wiring: Wiring, ref: str, net: str) -> bool:
    names = [pin.name or "" for pin in wiring.pins(ref) if wiring.node(pin) == net]
    return any(re.match(r"V(?:CC|DD|IN|BAT|S|M|PP)?\d?$|AVDD|VBUS|IN$|\+V", name.upper()) for name in names)


def thermal(wiring: Wiring, part: Part) -> list[Element]:
    """Return a thermostat or thermal cut-out as a closed contact, a thermistor as its resistance."""
    if re.search(r"thermostat|cut-?(?:out|off)|klixon|bimetal|ksd[39]0", words_of(part), re.IGNORECASE):
        return switch(wiring, part)
    return thermistor(wiring, part)


def jumper(wiring: Wiring, part: Part) -> list[Element]:
    """Return a jumper or solder jumper: open or closed as its words say; a wire link closed.

    Without a word: a wire link (a "jumper" in a resistor's outline, letter W) is closed; a place for a cap or solder
    is a question where it matters.
    """
    if positions := _positions(wiring, part):
        return _stated_positions(wiring, part, positions)
    ends = wiring.two_ends(part)
    told = _said(wiring, part)
    text = f"{part.identity.value.text} {part.identity.package_text} {part.identity.description}"
    if ends is None:
        pairs = _three_ends(wiring, part)
        if not pairs:
            return _no_poles(wiring, part)
        default = re.search(r"bridged[-_ ]?(1-?2|2-?3|12|23)", text, re.I)
        if default:
            first = re.sub(r"\D", "", default[1])
            return _stated_positions(wiring, part, [(first[0], first[1])])
        return _asked(wiring, part)
    if told is not None:
        slug = "circuit-switch-stated-closed" if told else "circuit-switch-stated-open"
        return [contact(part, ends, told, message(slug, ref=part.ref))]
    if _is_place(part, text):
        if re.search(r"(?<![a-z])(?:nc|bridged)(?![a-z])", text, re.I):
            return [contact(part, ends, True, message("circuit-switch-stated-closed", ref=part.ref))]
        if _feeds(wiring, part, ends):
            net = _fed_end(wiring, part, ends)
            return [contact(part, ends, True, message("circuit-switch-in-power", ref=part.ref, net=net))]
        return _asked(wiring, part)
    return [Element("link", part.ref, ends, {"resistance": wiring.default("link")})]


def _is_place(part: Part, text: str) -> bool:
    """Return whether a jumper is a place for a cap or for solder, not a wire."""
    solder = part.identity.kind == "solder_jumper"
    return solder or bool(re.search(r"header|pin|pol|1x0?[23]|2x1|1x2|cap|solder|steck", text, re.IGNORECASE))


def _three_ends(wiring: Wiring, part: Part) -> list[Pair]:
    nets = wiring.nets_of(part.ref)
    return [(nets[1], nets[0]), (nets[1], nets[2])] if len(nets) == 3 else []
