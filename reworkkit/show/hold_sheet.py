"""The hold card to print: one A4 for each hold point, with a small picture of each band and a blank beside it."""

from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from reworkkit import __version__
from reworkkit.model.measuring import Check
from reworkkit.model.values import Band
from reworkkit.model.vocabulary import BandBasis, Mode
from reworkkit.show.power_text import STATE_WORDS, band_nominal, draw_text
from reworkkit.show.sheet import AlertLine, Dial, MeterLine
from reworkkit.show.sheet_facing import meter_line
from reworkkit.show.sheet_holds import limit_setting, slope_rule
from reworkkit.show.sheet_words import Speaker, element_id, open_causes, ref_list
from reworkkit.show.terminal import Report
from reworkkit.show.texts import band_text

if TYPE_CHECKING:
    from reworkkit.model.answer import Answer
    from reworkkit.model.feeds import FurtherFeed
    from reworkkit.model.job_view import HoldState
    from reworkkit.model.power import PowerUp
    from reworkkit.model.results import HoldPoint

TEMPLATE = "hold-card.html.j2"
WIDE, HIGH = 240.0, 20.0
_START, _LEFT, _RIGHT, _STOP, _LINE = 72.0, 94.0, 158.0, 180.0, 10.0
"""The band fills the middle of the picture, so that a reading beside it can be marked as well."""
MANY_ROWS = 10
"""With more probes than this a card is set smaller, so that it stays on one page."""


class BandRow(NamedTuple):
    """One probe: its line in words, its band as a picture (SVG text of ours) and what most boards show."""

    line: MeterLine
    picture: str
    usual: str


class CauseRow(NamedTuple):
    """A reading, its likely causes in order, and the measurement that tells them apart."""

    reading: str
    likely: str
    separates: str


class HoldPage(NamedTuple):
    """One hold point on one page."""

    key: str
    name: str
    state: str
    alerts: tuple[AlertLine, ...]
    first: tuple[str, ...]
    """What comes before power: parts to fit, orientation to prove, findings about limits and rails."""
    dials: tuple[Dial, ...]
    needs: str
    protects: str
    steps: tuple[str, ...]
    zero: str
    """The points that must be at zero before any ohms."""
    off: tuple[BandRow, ...]
    on: tuple[BandRow, ...]
    stop: tuple[str, ...]
    open_questions: tuple[str, ...]

    @property
    def many(self) -> bool:
        """Whether the card is set smaller to stay on one page."""
        return len(self.off) + len(self.on) > MANY_ROWS


class HoldSheet(NamedTuple):
    """All pages, and the table of readings and causes that stands on each."""

    name: str
    revision: str
    pages: tuple[HoldPage, ...]
    causes: tuple[CauseRow, ...]
    version: str


def hold_sheet(result: "PowerUp", name: str, revision: str, language: str) -> HoldSheet:
    """Return the hold points in words, one page each."""
    speaker = Speaker(language)
    pairs = zip(result.hold_points, result.states, strict=True)
    causes = (CauseRow(s.reading, "; ".join(s.likely), s.separates) for s in result.symptoms)
    return HoldSheet(name, revision, tuple(_page(p, s, speaker) for p, s in pairs), tuple(causes), __version__)


def _page(point: "HoldPoint", state: "HoldState", speaker: Speaker) -> HoldPage:
    outline = point.outline
    usual = dict(point.usual)
    return HoldPage(
        f"card-{element_id(outline.name)}",
        outline.name,
        speaker.say(STATE_WORDS[state.state]),
        speaker.alerts(point.cautions),
        (*speaker.all(point.to_do), *speaker.all(finding.message for finding in point.findings)),
        _dials(point, speaker),
        ref_list(outline.needs),
        ref_list(outline.protects),
        speaker.all(point.steps),
        ", ".join(check.point.text for check in point.unpowered if check.mode is Mode.VOLTS),
        tuple(
            _row(check, f"{outline.name}-off", usual, speaker)
            for check in point.unpowered
            if check.mode is not Mode.VOLTS
        ),
        tuple(_row(check, f"{outline.name}-on", usual, speaker) for check in point.powered),
        speaker.all(point.stop),
        open_causes((one for one in point.not_judged if one.about), speaker),
    )


def _dials(point: "HoldPoint", speaker: Speaker) -> tuple[Dial, ...]:
    text = speaker.text
    limit = limit_setting(point.limit_a) if point.limit_a else ""
    dials = (
        Dial(text("power-card-volts"), band_nominal(point.supply_v)),
        Dial(text("page-hold-limit"), limit or text("page-not-judged")),
        Dial(text("page-hold-feed"), point.outline.feed or ""),
        Dial(text("power-card-draw"), _draw(point, speaker)),
        Dial(text("page-hold-charge"), band_text(point.charge_s) if point.charge_s else ""),
        Dial(text("page-hold-slope"), slope_rule(point.charge_s, speaker)),
    )
    return tuple(dial for dial in (*dials, *(_further(one, speaker) for one in point.further)) if dial.setting)


def _draw(point: "HoldPoint", speaker: Speaker) -> str:
    """Return the expected draw; more than that where the draw of fitted parts is not known."""
    if point.draw_a is None:
        return ""
    if not point.draws_unknown:
        return draw_text(point.draw_a)
    return speaker.text("power-card-least", draw=draw_text(point.draw_a), refs=ref_list(point.draws_unknown))


def _further(one: "FurtherFeed", speaker: Speaker) -> Dial:
    limit, draw = limit_setting(one.limit_a), draw_text(one.draw_a)
    name = speaker.text("power-card-further", feed=one.feed)
    return Dial(name, speaker.text("power-card-further-set", volts=f"{one.volts_v:g} V", limit=limit, draw=draw))


def _row(check: Check, place: str, usual: dict[str, Band], speaker: Speaker) -> BandRow:
    line = meter_line(check, f"card-{place}", speaker)
    most = usual.get(check.id)
    picture = band_svg(check.expect, line, speaker) if isinstance(check.expect, Band) else ""
    return BandRow(line, picture, band_text(most) if most else "")


def band_svg(band: Band, line: MeterLine, speaker: Speaker) -> str:
    """Return the band as one SVG element with title and description; an open end runs to the edge of the picture."""
    if band.low is None and band.high is None:
        return ""
    low = _LEFT if band.low is not None else _START
    high = _RIGHT if band.high is not None else _STOP
    key = escape(line.key)
    title = escape(speaker.text("power-card-picture", point=line.point))
    said = escape(speaker.text("power-card-described", point=line.point, band=line.expect))
    pieces = [
        f'<svg class="band" role="img" viewBox="0 0 {WIDE:g} {HIGH:g}" aria-labelledby="{key}-t {key}-d">',
        f'<title id="{key}-t">{title}</title><desc id="{key}-d">{said}</desc>',
        f'<path class="scale" d="M{_START:g} {_LINE:g}h{_STOP - _START:g}"/>',
        f'<rect class="inside" x="{low:g}" y="{_LINE - 6:g}" width="{high - low:g}" height="12"/>',
    ]
    ends = ((band.low, _LEFT, _START - 4, "end"), (band.high, _RIGHT, _STOP + 4, "start"))
    for end, x, beside, anchor in ends:
        if end is not None:
            words = escape(_short(end, band.unit))
            pieces.append(f'<path class="edge" d="M{x:g} {_LINE - 9:g}v18"/>')
            pieces.append(f'<text x="{beside:g}" y="{_LINE + 4:g}" text-anchor="{anchor}">{words}</text>')
    if (where := _between(band)) is not None:
        x = _LEFT + (_RIGHT - _LEFT) * where
        pieces.append(f'<path class="middle" d="M{x:.1f} {_LINE - 6:g}v12"/>')
    return "".join(pieces) + "</svg>"


def _between(band: Band) -> float | None:
    """Return where the expected value lies in the band, 0 to 1, or None where that says nothing."""
    if band.low is None or band.high is None or band.nominal is None or band.high <= band.low:
        return None
    return min(1.0, max(0.0, (band.nominal - band.low) / (band.high - band.low)))


def _short(value: float, unit: str) -> str:
    """Return an end of a band as short as a picture needs it, with its prefix."""
    return band_text(Band(None, None, value, unit, BandBasis.STATED)).removeprefix("at most ")


def hold_sheet_html(answer: "Answer[PowerUp]", language: str) -> str:
    """Return the cards as one HTML file; printed, each hold point is one A4."""
    from reworkkit.show.page import environment

    board = answer.board
    sheet = hold_sheet(answer.result, board.name, board.revision or "", language)
    return environment().get_template(TEMPLATE).render(sheet=sheet, say=Speaker(language).text, language=language)


def print_written(path: Path, pages: int, language: str) -> None:
    """Print where the cards were written."""
    Report(language).say("power-sheet-written", file=str(path), count=pages)
