"""Hold points as cards: stop here, power up on a limit, measure; with blanks for what the meter shows."""

from reworkkit.model.facts import HoldPointFacts
from reworkkit.model.live import LiveRun
from reworkkit.model.results import HoldPoint
from reworkkit.model.values import Band
from reworkkit.show.sheet import AlertLine, Dial, HoldCard
from reworkkit.show.sheet_facing import meter_line
from reworkkit.show.sheet_readings import NOTHING_READ, Known
from reworkkit.show.sheet_words import Speaker, element_id, open_causes, ref_list
from reworkkit.show.texts import band_text

FIRST_STEPS = 2
"""Steps of the live run whose warnings stand on the card of its hold point: who is here, what can hurt."""

FOLLOWED_S = 2.0
"""A shorter charge cannot be followed by eye; the stop rules then count whole seconds."""


class HoldCards:
    """The hold points still to be placed in the route; each is handed out once."""

    def __init__(
        self,
        stated: tuple[HoldPointFacts, ...],
        figured: tuple[HoldPoint, ...],
        confirmed: frozenset[str],
        speaker: Speaker,
        live: LiveRun | None = None,
        known: Known = NOTHING_READ,
        passed: frozenset[str] = frozenset(),
    ) -> None:
        cards = [_figured(point, confirmed, speaker, known) for point in figured]
        names = {card.name for card in cards}
        cards += [_stated(point, speaker) for point in stated if point.name not in names]
        self._waiting = {
            card.name: _with_live(card, live, speaker)._replace(passed=card.name in passed) for card in cards
        }

    def take(self, *names: str) -> tuple[HoldCard, ...]:
        """Hand out the cards of these names that still wait."""
        return tuple(card for name in dict.fromkeys(names) if (card := self._waiting.pop(name, None)))

    def take_after(self, number: int, last: dict[str, int]) -> tuple[HoldCard, ...]:
        """Hand out the cards whose last operation is this one; `last` maps a hold point to that number."""
        return self.take(*(name for name, n in last.items() if n == number))

    def rest(self) -> tuple[HoldCard, ...]:
        """Hand out what no operation names."""
        return self.take(*self._waiting)


def _with_live(card: HoldCard, live: LiveRun | None, speaker: Speaker) -> HoldCard:
    """Return the card of the live run's hold point with its first warnings before everything else."""
    if live is None or live.hold_point != card.name:
        return card
    stops = tuple(AlertLine("stop", speaker.text("live-stop-word"), line) for line in speaker.all(live.stops))
    pointer = AlertLine("warning", speaker.text("page-warning"), speaker.text("live-card-points"))
    first = speaker.alerts(alert for step in live.steps[:FIRST_STEPS] for alert in step.alerts)
    return card._replace(alerts=tuple(dict.fromkeys((*stops, pointer, *first, *card.alerts))))


def _stated(point: HoldPointFacts, speaker: Speaker) -> HoldCard:
    text = speaker.text
    facts = [
        Dial(text("page-hold-supply"), point.supply or ""),
        Dial(text("page-hold-feed"), point.feed or ""),
        Dial(text("page-hold-limit"), point.limit.text if point.limit else ""),
        Dial(text("page-hold-measure"), ", ".join(point.measure)),
    ]
    needs, protects = ref_list(point.needs), ref_list(point.before)
    return HoldCard(
        f"hold-{element_id(point.name)}",
        point.name,
        tuple(fact for fact in facts if fact.setting),
        needs,
        protects,
        (),
        (),
        (),
        (),
        (),
        False,
    )


def _figured(point: HoldPoint, confirmed: frozenset[str], speaker: Speaker, known: Known) -> HoldCard:
    outline, text = point.outline, speaker.text
    limit = point.limit_a or outline.limit
    facts = [
        Dial(text("page-hold-supply"), outline.supply or ""),
        Dial(text("page-hold-feed"), outline.feed or ""),
        Dial(text("page-hold-limit"), limit_setting(limit) if limit else text("page-not-judged")),
        Dial(text("page-hold-charge"), band_text(point.charge_s) if point.charge_s else text("page-not-judged")),
        Dial(text("page-hold-slope"), slope_rule(point.charge_s, speaker)),
        Dial(text("page-hold-confirmed"), _confirmed(point, confirmed, speaker)),
    ]
    return HoldCard(
        f"hold-{element_id(outline.name)}",
        outline.name,
        tuple(fact for fact in facts if fact.setting),
        ref_list(outline.needs),
        ref_list(outline.protects),
        tuple(
            meter_line(check, f"{outline.name}-off", speaker, known.also(outline.needs)) for check in point.unpowered
        ),
        tuple(meter_line(check, f"{outline.name}-on", speaker, known.also(outline.needs)) for check in point.powered),
        speaker.all(point.stop),
        speaker.alerts(point.cautions),
        open_causes(point.not_judged, speaker),
        True,
        speaker.all(point.steps),
        speaker.all(point.to_do),
    )


def limit_setting(limit: Band) -> str:
    """Return the limit to set, not a range: what is dialled in is one figure."""
    if limit.nominal is None:
        return band_text(limit)
    return f"{limit.nominal * 1000:.0f} mA" if limit.nominal < 1 else f"{limit.nominal:.3g} A"


def slope_rule(charge_s: Band | None, speaker: Speaker) -> str:
    """Return the rule that tells charging from a short; nothing where the charge is too quick to be followed."""
    if charge_s is None or charge_s.high is None or charge_s.high < FOLLOWED_S:
        return ""
    return speaker.text("page-hold-slope-rule", quarter=f"{charge_s.high / 4:.2g}")


def _confirmed(point: HoldPoint, confirmed: frozenset[str], speaker: Speaker) -> str:
    if not point.outline.confirm:
        return ""
    return speaker.text("page-hold-yes" if point.outline.name in confirmed else "page-hold-no")
