"""The survey: the only command that asks questions. Everything else refuses and names the line to type."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reworkkit.cli.acting import CopyChoice, actor
from reworkkit.cli.ask_commands import request
from reworkkit.cli.frame import print_json
from reworkkit.cli.options import (
    BoardArgument,
    BoardOption,
    ByOption,
    ColumnOption,
    CsvOption,
    EncodingOption,
    JsonOption,
    LangOption,
)

if TYPE_CHECKING:
    from reworkkit.model.survey import Survey
    from reworkkit.pipeline.opening import Request
    from reworkkit.pipeline.surveying import OpenSurvey

SheetOption = Annotated[
    bool, typer.Option("--sheet", help="Write the sheet for paper (A4); with --csv print it as a table.")
]
FromOption = Annotated[
    str | None,
    typer.Option(
        "--from", metavar="FILE", help="Take in a filled-in sheet, or what the page saved; - for pasted text."
    ),
]
SHEET_NAME = "survey-sheet.html"


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    app.command()(survey)


def survey(
    board: BoardArgument = None,
    named: BoardOption = None,
    sheet: SheetOption = False,
    source: FromOption = None,
    copy: CopyChoice = None,
    column: ColumnOption = None,
    encoding: EncodingOption = None,
    by: ByOption = None,
    as_csv: CsvOption = False,
    as_json: JsonOption = False,
    lang: LangOption = "en",
) -> None:
    """Look at every place of the board, twice, and make the fitted list from it."""
    from reworkkit.pipeline.surveying import open_survey

    asked = request(board, named, 1, column, encoding)
    opened = open_survey(asked, copy)
    talk = _Work(opened, asked, by, lang)
    if sheet:
        talk.write_sheet(as_csv)
    elif source:
        talk.take_in(source, as_json)
    elif not as_json:
        talk.converse()
    talk.finish(as_json, quiet=sheet)


class _Work:
    """What the command does with an opened survey, and what it says at the end."""

    def __init__(self, opened: "OpenSurvey", asked: "Request", by: str | None, lang: str) -> None:
        from reworkkit.show.terminal import Report

        self.opened = opened
        self.survey = opened.survey
        self.asked = asked
        self.by = by
        self.lang = lang
        self.report = Report(lang)
        self.prepared = False
        self.spare = ""

    def keep(self, survey: "Survey") -> None:
        """Store the survey: the whole fitted list, written anew, whole or not at all."""
        from reworkkit.pipeline.files import atomic_write
        from reworkkit.pipeline.surveying import prepare
        from reworkkit.show.survey_file import fitted_text

        if not self.prepared:
            self.opened, self.spare = prepare(self.opened)
            self.prepared = True
        atomic_write(self.opened.file, fitted_text(survey, self.lang))
        self.survey = survey

    def converse(self) -> None:
        """Ask, place after place, until the look is done or put down."""
        from reworkkit.cli.keys import answers
        from reworkkit.cli.survey_session import Session
        from reworkkit.show.survey_text import SurveyTalk

        if self.survey.look == 3:
            return
        opened = self.opened
        talk = SurveyTalk(self.report, opened.board, opened.difference)
        talk.begin(self.survey, opened.job, opened.older, opened.file.name)
        with answers() as read:
            session = Session(self.survey, talk, read, self.keep)
            try:
                done = session.run()
            except KeyboardInterrupt:  # pressed between two questions, when no key is being waited for
                done = False
        self.report.screen.line()
        if not done:
            self.report.say("survey-paused" if session.kept else "survey-paused-nothing", file=self.opened.file.name)

    def take_in(self, source: str, as_json: bool) -> None:
        """Take in a filled-in sheet or what the page saved; with a job the page's ticks and readings as well."""
        from reworkkit.pipeline import surveying
        from reworkkit.show.survey_text import print_taken_in

        data, name = (sys.stdin.buffer.read(), "standard input") if source == "-" else surveying.source_bytes(source)
        if self.opened.job and surveying.is_page_state(data):
            return self._merge(data, as_json)
        taken = surveying.take_in(self.opened, data, name)
        self.keep(taken.survey)
        return None if as_json else print_taken_in(self.report, taken, name)

    def _merge(self, data: bytes, as_json: bool) -> None:
        from reworkkit.pipeline import surveying
        from reworkkit.show.recall import merged_text

        merged, self.opened = surveying.merge_page(self.asked, self.opened, data, actor(self.by))
        self.keep(surveying.with_page(self.opened, data))
        if not as_json:
            print(merged_text(merged, self.lang))

    def write_sheet(self, as_csv: bool) -> None:
        """Write the sheet for paper into the board folder, or print it as a table."""
        from reworkkit.pipeline.files import atomic_write
        from reworkkit.show import survey_sheet
        from reworkkit.show.following import board_words

        opened = self.opened
        sheet = survey_sheet.build_survey_sheet(opened.board, opened.difference, self.survey, opened.copy, self.lang)
        if as_csv:
            sys.stdout.write(survey_sheet.survey_sheet_csv(sheet))
            return
        lone = opened.lone
        path = lone.with_name(f"{lone.stem} {SHEET_NAME}") if lone else opened.folder / SHEET_NAME
        atomic_write(path, survey_sheet.survey_sheet_html(sheet))
        self.report.say("survey-sheet-written", path=str(path))
        self.report.say("survey-sheet-back", style="quiet", board=board_words(self._board()))

    def finish(self, as_json: bool, quiet: bool) -> None:
        """Bring the job in step, say how far the survey is and what comes next."""
        from reworkkit.pipeline.surveying import counts_of, record_found
        from reworkkit.show import survey_text
        from reworkkit.show.following import after_survey, board_words

        if quiet:
            return
        opened, counts = self.opened, counts_of(self.survey)
        recorded = 0
        if opened.job and self.prepared:
            recorded = record_found(opened, self.survey, actor(self.by))
        if as_json:
            print_json(survey_text.survey_document(self.survey, counts, opened.copy, opened.file.name, opened.job))
            return
        named = board_words(self._board())
        survey_text.print_standing(self.report, opened.board, self.survey, counts, opened.file.name, named)
        self._say_what_was_kept(recorded)
        self.report.next_command(after_survey(self.survey, named))

    def _board(self) -> Path | None:
        """Return the board as it is to be typed from here on: a lone list has a folder now."""
        typed = self.asked.target
        return self.opened.folder if typed and typed.is_file() and self.opened.lone is None else typed

    def _say_what_was_kept(self, recorded: int) -> None:
        if self.spare:
            self.report.say("survey-spare", file=self.spare)
        if recorded:
            self.report.say("survey-recorded", count=recorded)
            self.report.say("survey-plan-older")
        if self.prepared and self._board() != self.asked.target:
            self.report.say("survey-folder", folder=str(self.opened.folder))
