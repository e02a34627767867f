"""Rows and lines of `heat`, as plain data: cells of text for the terminal, nothing above 380 C in any of them."""

from collections.abc import Iterable, Mapping
from typing import Any

from reworkkit.model.designator_list import in_short
from reworkkit.model.messages import Fact, Message, message
from reworkkit.model.results import HeatDemand, HeatExplanation, MeasuredJoint, SetUp
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import HeatClass
from reworkkit.show.documents import band_document
from reworkkit.show.texts import DEFAULT_LANGUAGE, sentence

MOST_C = 380
CLASSES = {
    HeatClass.LIGHT: message("heat-class-light"),
    HeatClass.MODERATE: message("heat-class-moderate"),
    HeatClass.HEAVY: message("heat-class-heavy"),
    HeatClass.VERY_HEAVY: message("heat-class-very-heavy"),
}
PLACES = {
    "metal": message("heat-goes-to-metal"),
    "part": message("heat-goes-to-part"),
    "board": message("heat-goes-to-board"),
}
FACTORS = {
    "copper": message("heat-factor-copper"),
    "axial": message("heat-factor-axial"),
    "size": message("heat-factor-size"),
    "contact": message("heat-factor-contact"),
    "inner": message("heat-factor-inner"),
    "tab": message("heat-factor-tab"),
    "criterion": message("heat-factor-criterion"),
}
HEADINGS = (
    message("heat-column-joint"),
    message("heat-column-class"),
    message("heat-column-start"),
    message("heat-column-needed"),
    message("heat-column-window"),
    message("heat-column-time"),
    message("heat-column-hold"),
    message("heat-column-remedy"),
)
_IN_THE_START = ("heat-remedy-preheat", "heat-remedy-bigger-tip")
"""Remedies that the cell "start with" says already."""


def heat_headings(language: str = DEFAULT_LANGUAGE) -> tuple[str, ...]:
    """Return the headings of the table."""
    return tuple(sentence(heading, language) for heading in HEADINGS)


def heat_rows(demands: Iterable[HeatDemand], language: str = DEFAULT_LANGUAGE) -> tuple[tuple[str, ...], ...]:
    """Return one row of cells a joint, in the order given; settings in steps of 10 C."""
    return tuple(_row(demand, language) for demand in demands)


def heat_footer(demands: Iterable[HeatDemand], language: str = DEFAULT_LANGUAGE) -> tuple[str, ...]:
    """Return what holds for all rows, then every assumption once."""
    always = (message("heat-calculated"), message("heat-range"), message("heat-hand-time"))
    assumed = folded_pins(m for demand in demands for m in demand.assumed)
    return tuple(dict.fromkeys(sentence(m, language) for m in (*always, *assumed)))


def folded_pins(messages: Iterable[Message]) -> list[Message]:
    """Return the messages, each once; those that differ only in the pin, part or kind they are about made one."""
    groups: dict[tuple[object, ...], list[Message]] = {}
    for one in messages:
        rest = tuple((name, fact) for name, fact in one.facts if name not in ("pin", "kind"))
        groups.setdefault((one.slug, rest), []).append(one)
    return [
        Message(group[0].slug, tuple((name, _folded(name, fact, group)) for name, fact in group[0].facts))
        for group in groups.values()
    ]


def _folded(name: str, fact: Fact, group: list[Message]) -> Fact:
    said = dict.fromkeys(str(one.fact(name) or "") for one in group)
    if name == "pin":
        return in_short({text.partition(":")[0] for text in said})
    return ", ".join(text.replace("_", " ") for text in said) if name == "kind" else fact


def measured_lines(found: MeasuredJoint, language: str = DEFAULT_LANGUAGE) -> tuple[str, ...]:
    """Return what a measured joint changed, and the lines to write."""
    before, after = needed_text(found.before, language), needed_text(found.after, language)
    joint = f"{found.ref}.{found.pin}"
    text = message("heat-measured-line", joint=joint, tip=found.tip, before=before, after=after)
    return (sentence(text, language), *found.line.splitlines())


def first_pad_lines(pads: Mapping[str, str], language: str = DEFAULT_LANGUAGE) -> tuple[str, ...]:
    """Return which pad of a part to solder first, one line a part."""
    return tuple(sentence(message("heat-first-pad", ref=ref, pin=pin), language) for ref, pin in pads.items())


def heat_items(demands: Iterable[HeatDemand], language: str = DEFAULT_LANGUAGE) -> list[dict[str, Any]]:
    """Return the `joints` of `reworkkit.heat/1`; no setting above 380 C is in them."""
    return [_item(demand, language) for demand in demands]


def _item(demand: HeatDemand, language: str) -> dict[str, Any]:
    settings = [
        {"tip": setup.tip, "preheat_c": setup.preheat_c, "setting_c": band_document(band)}
        for setup, band in demand.settings
    ]
    windows = [
        {"tip": setup.tip, "preheat_c": setup.preheat_c, "low_c": low, "high_c": high}
        for setup, low, high in demand.windows
    ]
    return {
        "ref": demand.ref,
        "pin": demand.pin,
        "settings": settings,
        "windows": windows,
        "recommended": demand.recommended._asdict() if demand.recommended else None,
        "allowed_c": demand.allowed_c,
        "dwell_s": demand.dwell_s,
        "energy_j": demand.energy_j,
        "hold_w": demand.hold_w,
        "heats_in": [sentence(m, language) for m in demand.heats_in],
        "class": demand.heat_class.value,
        "reachable": demand.reachable,
        "remedy": sentence(demand.remedy, language) if demand.remedy else None,
        "basis": demand.basis.value,
        "assumed": [sentence(m, language) for m in demand.assumed],
    }


def explanation_lines(explanation: HeatExplanation, language: str = DEFAULT_LANGUAGE) -> tuple[str, ...]:
    """Return the lines of `heat REF --explain` for one joint."""
    said = [_head(explanation, language)]
    whole = sum(joules for _, joules in explanation.budget_j) or 1.0
    for place, joules in explanation.budget_j:
        where = sentence(PLACES[place], language)
        said.append(sentence(message("heat-budget-line", share=round(100 * joules / whole), where=where), language))
    for name, share in explanation.shares_percent:
        factor = sentence(FACTORS[name], language)
        said.append(sentence(message("heat-range-line", share=round(share), factor=factor), language))
    said += [
        sentence(message("heat-before-line", needed=needed_text(b, language)), language) for b in explanation.before
    ]
    said.append(sentence(explanation.narrow, language))
    said += explanation.answer.splitlines() if explanation.answer else []
    said += [_point(*point, language) for point in explanation.curve_s_c[::4]]
    said += [sentence(m, language) for m in dict.fromkeys(explanation.demand.assumed)]
    return (*said, sentence(message("heat-calculated"), language))


def needed_text(band: Band, language: str = DEFAULT_LANGUAGE) -> str:
    """Return a range of settings in steps of 10 C; what lies above 380 C is said in words.

    >>> from reworkkit.model.vocabulary import BandBasis
    >>> needed_text(Band(312.0, 330.0, 351.0, "C", BandBasis.P10_P90))
    '310 to 360 °C'
    """
    over = sentence(message("heat-over-most"), language)
    low, high = band.low, band.high
    if low is None or low > MOST_C:
        return over
    start = int(low // 10 * 10)
    return (
        f"{start} to {int(-(-high // 10) * 10)} °C" if high is not None and high <= MOST_C else f"{start} °C to {over}"
    )


def _row(demand: HeatDemand, language: str) -> tuple[str, ...]:
    joint = f"{demand.ref}.{demand.pin}" if demand.pin else demand.ref
    needed = needed_text(demand.settings[0][1], language) if demand.settings else _over(demand, language)
    hold = f"{demand.hold_w:.1f} W" if demand.hold_w is not None else ""
    return (
        joint,
        sentence(CLASSES[demand.heat_class], language),
        _start(demand, language),
        needed,
        _window(demand),
        " – ".join(sentence(m, language) for m in demand.heats_in),
        hold,
        sentence(demand.remedy, language) if demand.remedy and demand.remedy.slug not in _IN_THE_START else "",
    )


def _over(demand: HeatDemand, language: str) -> str:
    return sentence(message("heat-over-most"), language) if demand.hold_w is not None else ""


def _start(demand: HeatDemand, language: str) -> str:
    setup = demand.recommended
    if setup is None:
        return sentence(message("heat-no-iron"), language) if demand.reachable is False else ""
    return f"{_tool(setup, language)}, {min(setup.setting_c or MOST_C, MOST_C)} °C"


def _tool(setup: SetUp, language: str) -> str:
    if setup.preheat_c is None:
        return setup.tip
    return sentence(message("heat-with-preheat", tip=setup.tip, preheat=setup.preheat_c), language)


def _window(demand: HeatDemand) -> str:
    if demand.recommended is None or not demand.windows:
        return ""
    _, low, high = demand.windows[0]
    return f"{low}–{high} °C" if low < high else f"{high} °C"


def _head(explanation: HeatExplanation, language: str) -> str:
    demand, joint = explanation.demand, explanation.joint
    bands = {setup._replace(setting_c=None): band for setup, band in demand.settings}
    band = bands.get(explanation.setup._replace(setting_c=None))
    needed = needed_text(band, language) if band else _over(demand, language)
    text = message(
        "heat-explain-head",
        joint=f"{joint.ref}.{joint.pin}" if joint.pin else joint.ref,
        tip=_tool(explanation.setup, language),
        needed=needed,
        allowed=round(demand.allowed_c or MOST_C),
        energy=round(demand.energy_j or 0.0),
        dwell=demand.dwell_s or 0.0,
        hold=round(demand.hold_w or 0.0, 1),
    )
    return sentence(text, language)


def _point(time_s: float, joint_c: float, end_c: float, language: str) -> str:
    text: Message = message("heat-curve-line", time=round(time_s, 1), joint=round(joint_c, -1), end=round(end_c, -1))
    return sentence(text, language)
