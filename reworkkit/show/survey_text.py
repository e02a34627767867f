"""What a survey says on the terminal: what comes first, one line a place, how far it is, where two looks differ."""

from typing import Any

from reworkkit.model.board import Board
from reworkkit.model.designator_list import in_short
from reworkkit.model.difference import Difference
from reworkkit.model.messages import message
from reworkkit.model.survey import CANNOT_SEE, Looks, Seen, Survey, TakenIn
from reworkkit.show.errors import plain
from reworkkit.show.sheet_words import ALERTS, SURVEY_WORDS
from reworkkit.show.survey_file import WORDS
from reworkkit.show.survey_first import first_alerts
from reworkkit.show.survey_sheet import PlaceWords
from reworkkit.show.terminal import Report

KEYS = {key: kind for kind, _, key in SURVEY_WORDS}
"""Key -> what it says of a place; the same keys as on the bench sheet."""
HEADS = ("survey-head", "survey-head-second", "survey-head-third")


class SurveyTalk:
    """Speaks to the person who goes through a board; prints through the report, prompts without a line end."""

    def __init__(self, report: Report, board: Board, difference: Difference) -> None:
        self.report = report
        self.board = board
        self.words = PlaceWords(board, difference, report.language)
        self.states = {kind: report.words(words) for kind, words in WORDS.items()}
        self.region = ""

    def begin(self, survey: Survey, job: bool, older: str, new: str) -> None:
        """Print what comes first: the board without power, photographs of both sides; then how far the survey is."""
        report = self.report
        for level, slug in first_alerts(self.board):
            report.screen.line(f"{report.words(ALERTS[level])}: {report.words(message(slug))}", level.value)
        if survey.look == 0:
            report.say("survey-photographs")
            if job:
                report.say("survey-photographs-job", style="quiet")
        report.screen.line()
        if older:
            report.say("survey-older", file=older, new=new)
        look, places = survey.look, len(survey.places)
        waiting = len(survey.waiting(look))
        report.say(HEADS[look], style="heading", places=places, regions=len(survey.routes[0]), waiting=waiting)
        self.keys()

    def begin_third(self, survey: Survey) -> None:
        """Print that some places were answered differently and are asked about again."""
        self.region = ""
        self.report.screen.line()
        self.report.say(HEADS[2], style="heading", waiting=len(survey.disagreements))

    def keys(self) -> None:
        """Print which key says what."""
        keys = ", ".join(f"{key} {self.states[kind]}" for key, kind in KEYS.items())
        self.report.say("survey-keys", keys=keys)

    def ask(self, survey: Survey, ref: str, look: int) -> None:
        """Print one place, and a heading where its region begins; the answer follows on the same line."""
        number, region = survey.region_of(ref, look)
        head = self.report.words(
            message("survey-region", region=self.words.region(region), n=number, of=len(survey.routes[0]))
        )
        if head != self.region:
            self.region = head
            self.report.screen.heading(head[:1].upper() + head[1:])
        row = self.words.row(ref)
        what = " ".join(text for text in (row.value, row.package) if text)
        zone = self.report.words(message("survey-zone", zone=row.zone)) if row.zone else ""
        empty = "" if row.to_fit else self.report.words(message("survey-do-not-fit"))
        looks = self._both(survey.looks.get(ref, Looks())) if look == 2 else ""
        said = ", ".join(text for text in (what, zone, empty, looks) if text)
        self.prompt(f"  {ref:<6} {said}: ")

    def _both(self, looks: Looks) -> str:
        first, second = (self.states[seen.kind] for seen in looks[:2] if isinstance(seen, Seen))
        return self.report.words(message("survey-two-looks", first=first, second=second))

    def prompt(self, text: str) -> None:
        """Print text without a line end, safe for a terminal."""
        print(plain(text), end="", flush=True)

    def ask_remark(self, ref: str) -> None:
        """Ask for the remark on a place."""
        self.prompt(self.report.words(message("survey-remark", ref=ref)))

    def answered(self, word: str) -> None:
        """Finish the line of a place with the answer."""
        print(plain(word), flush=True)

    def say(self, slug: str) -> None:
        """Print one sentence on a line of its own."""
        self.report.say(slug, style="quiet", indent=2)


def print_standing(report: Report, board: Board, survey: Survey, counts: dict[str, int], file: str, named: str) -> None:
    """Print how far a survey is: the sums, what differs, and which command comes next.

    `named` is the board as it is typed behind a command: empty, or a blank and its name.
    """
    report.say(
        "survey-counts",
        there=counts["fitted"],
        empty=counts["empty"],
        unseen=counts[CANNOT_SEE],
        damaged=counts["damaged"],
        wrong=counts["wrong part"],
        reversed=counts["reversed"],
        waiting=counts["waiting"],
    )
    if survey.disagreements:
        _print_disagreements(report, board, survey, named)
    elif survey.look == 1 and not survey.begun_again:
        report.say("survey-first-done", file=file, board=named)
    elif survey.look == 3:
        report.say("survey-done", file=file)


def _print_disagreements(report: Report, board: Board, survey: Survey, named: str) -> None:
    report.screen.heading(report.words(message("survey-differ", count=len(survey.disagreements))))
    rows = []
    for ref in survey.disagreements:
        first, second = (report.words(WORDS[seen.kind]) for seen in survey.looks[ref][:2] if seen)
        value = board.parts[ref].identity.value.text
        rows.append((ref, value, report.words(message("survey-two-looks", first=first, second=second))))
    report.screen.table(rows, widest=20)
    report.say("survey-differ-how", board=named)


def print_taken_in(report: Report, taken: TakenIn, file: str) -> None:
    """Print what a filled-in sheet or a page brought."""
    report.say("survey-taken", answers=taken.answers, known=taken.known, file=file)
    if taken.strange:
        report.say("survey-strange", refs=in_short(taken.strange))


def survey_document(survey: Survey, counts: dict[str, int], copy: int, file: str, job: bool) -> dict[str, Any]:
    """Return `reworkkit.survey/1`: how far the survey is, each place with its looks, in the order of the first look."""
    return {
        "format": "reworkkit.survey/1",
        "basis": "job" if job else "files",
        "copy": copy,
        "fitted_list": file,
        "look": min(survey.look + 1, 3),
        "finished": survey.look == 3,
        "counts": {kind.replace(" ", "_"): count for kind, count in counts.items()},
        "disagreements": list(survey.disagreements),
        "places": [_place(ref, survey.looks.get(ref, Looks())) for ref in survey.places],
    }


def _place(ref: str, looks: Looks) -> dict[str, Any]:
    stands = looks.stands
    return {
        "ref": ref,
        "state": stands.word if stands else None,
        "note": stands.note if stands else "",
        "looks": [seen.kind if seen else None for seen in looks],
    }
