"""The survey sheet: the places of a board in the order of a look, as an A4 page for a pencil and as a CSV table."""

from typing import NamedTuple

from reworkkit.model.board import Board
from reworkkit.model.difference import Difference
from reworkkit.model.survey import Region, Survey
from reworkkit.model.vocabulary import Fit
from reworkkit.show.page import environment
from reworkkit.show.sheet import BoardView
from reworkkit.show.sheet_places import SIDES_SEEN, Places
from reworkkit.show.sheet_words import ALERTS, SIDES, SURVEY_WORDS, THIRDS, Speaker, package_words
from reworkkit.show.spreadsheet import table_text
from reworkkit.show.survey_file import SHEET_HEADINGS
from reworkkit.show.survey_first import first_alerts

TEMPLATE = "survey-sheet.html.j2"


class SheetRow(NamedTuple):
    """One place to look at: what should be there and where."""

    ref: str
    value: str
    package: str
    zone: str
    side: str
    to_fit: bool


class SheetRegion(NamedTuple):
    """One region of the board with its places in the order of the look."""

    words: str
    rows: tuple[SheetRow, ...]


class SurveySheet(NamedTuple):
    """Everything the printed sheet shows."""

    language: str
    name: str
    revision: str
    copy: int
    second: bool
    places: int
    alerts: tuple[tuple[str, str, str], ...]
    """(level, its word, text)"""
    states: tuple[str, ...]
    views: tuple[BoardView, ...]
    regions: tuple[SheetRegion, ...]


class PlaceWords:
    """What is said of a place and of a region: the same words and zones as on the bench sheet."""

    def __init__(self, board: Board, difference: Difference, language: str) -> None:
        self.board = board
        self.speaker = Speaker(language)
        self.places = Places(board, difference, self.speaker)

    def row(self, ref: str) -> SheetRow:
        """Return what is said of one place."""
        part, spot = self.board.parts[ref], self.places.spots.get(ref)
        value = part.identity.value.text or part.identity.part_number or part.identity.description
        side = self.speaker.say(SIDES[self.board.placements[ref].side]) if spot else ""
        to_fit = part.fit is not Fit.DO_NOT_FIT
        return SheetRow(
            ref,
            value,
            package_words(part.identity, part.identity.package_text),
            spot.zone if spot else "",
            side,
            to_fit,
        )

    def region(self, region: Region) -> str:
        """Return the words of a region: side and third, or the run of the list."""
        if region.side is None:
            return self.speaker.text("page-region-list", first=region.refs[0], last=region.refs[-1])
        third = self.speaker.say(THIRDS[(region.across, region.down)])
        return self.speaker.text("page-region", side=self.speaker.say(SIDES[region.side]), third=third)


def build_survey_sheet(board: Board, difference: Difference, survey: Survey, copy: int, language: str) -> SurveySheet:
    """Return the sheet of the look that the survey is at; where that is done or all is settled, of the second look."""
    words = PlaceWords(board, difference, language)
    speaker = words.speaker
    second = survey.look >= 1
    route = survey.routes[1 if second else 0]
    alerts = first_alerts(board)
    return SurveySheet(
        language,
        board.name,
        board.revision or "",
        copy,
        second,
        len(survey.places),
        tuple((level.value, speaker.say(ALERTS[level]), speaker.text(slug)) for level, slug in alerts),
        tuple(speaker.say(text) for _, text, _ in SURVEY_WORDS),
        tuple(words.places.view(side) for side in SIDES_SEEN if side in words.places.grids),
        tuple(SheetRegion(words.region(one), tuple(map(words.row, one.refs))) for one in route),
    )


def survey_sheet_html(sheet: SurveySheet) -> str:
    """Return the printed sheet: one self-contained page, A4."""
    template = environment().get_template(TEMPLATE)
    return template.render(sheet=sheet, say=Speaker(sheet.language).text)


def survey_sheet_csv(sheet: SurveySheet) -> str:
    """Return the sheet as CSV: the columns state and note are empty; `reworkkit survey --from` reads it filled in."""
    rows = ((row.ref, "", "", row.value, row.package, row.zone, row.side) for one in sheet.regions for row in one.rows)
    return table_text(SHEET_HEADINGS, rows)
