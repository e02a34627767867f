"""The survey as a conversation: one place, one answer, kept at once; back and pause at any time."""

from collections.abc import Callable

from reworkkit.cli.keys import BACK, PAUSE, ReadAnswer, read_line
from reworkkit.model.survey import LOOKS, Looks, Seen, Survey
from reworkkit.show.survey_text import KEYS, SurveyTalk

REMARK, HELP = "n", "?"


class Session:
    """One sitting. `keep` stores the survey after every answer; `survey` is how far it is."""

    def __init__(self, survey: Survey, talk: SurveyTalk, read: ReadAnswer, keep: Callable[[Survey], None]) -> None:
        self.survey = survey
        self.talk = talk
        self.read = read
        self.keep = keep
        self.kept = False
        self.last = ""

    def run(self) -> bool:
        """Go through the look that the survey is at; True where it came to its end, False where it was put down.

        What two looks disagree on is asked again at the end of the second.
        """
        look = self.survey.look
        if not self._go_through(look):
            return False
        if look == 1 and self.survey.look == 2:
            self.talk.begin_third(self.survey)
            return self._go_through(2)
        return True

    def _go_through(self, look: int) -> bool:
        order = self.survey.waiting(look) if look == 2 else self._whole_route(look)
        waiting = set(self.survey.waiting(look))
        at = next((n for n, ref in enumerate(order) if ref in waiting), len(order))
        while at < len(order):
            ref = order[at]
            command, remark = self._answer_to(ref, look)
            if command == PAUSE:
                return False
            if command == BACK:
                at = max(at - 1, 0)
                continue
            self._take(ref, look, Seen(command, command, remark))
            waiting.discard(ref)
            at = next((n for n in (*range(at + 1, len(order)), *range(at)) if order[n] in waiting), len(order))
        return True

    def _whole_route(self, look: int) -> tuple[str, ...]:
        return tuple(ref for region in self.survey.routes[look] for ref in region.refs)

    def _answer_to(self, ref: str, look: int) -> tuple[str, str]:
        """Return the kind that was answered, or back or pause, and a remark."""
        while True:
            self.talk.ask(self.survey, ref, look)
            command, remark = self._understood(self.read())
            if command in KEYS.values():
                self.talk.answered(", ".join(text for text in (self.talk.states[command], remark) if text))
                return command, remark
            self.talk.answered("")
            if command in (BACK, PAUSE):
                return command, ""
            self._other(command, remark, look)

    def _understood(self, answer: str) -> tuple[str, str]:
        """Return what an answer means: a key, or a word and a remark where whole lines are typed."""
        text = answer.strip()
        for name, command in self._names():
            rest = text[len(name) :]
            if text.casefold().startswith(name) and (not rest or not rest[0].isalnum()):
                return command, rest.strip(" ,;:-")
        return HELP if text == HELP else "", ""

    def _names(self) -> list[tuple[str, str]]:
        """Return every way to name a command, the longest first."""
        words = {self.talk.states[kind]: kind for kind in KEYS.values()}
        own = {kind: kind for kind in KEYS.values()}
        names = {**KEYS, **words, **own, BACK: BACK, "back": BACK, PAUSE: PAUSE, "q": PAUSE, "pause": PAUSE}
        names |= {REMARK: REMARK}
        return sorted(names.items(), key=lambda name: -len(name[0]))

    def _other(self, command: str, remark: str, look: int) -> None:
        if command == REMARK:
            self._remark(remark, look)
        else:
            if command != HELP:
                self.talk.say("survey-key-unknown")
            self.talk.keys()

    def _remark(self, remark: str, look: int) -> None:
        if not self.last:
            self.talk.say("survey-no-remark")
            return
        if not remark:
            self.talk.ask_remark(self.last)
            remark = read_line()
        seen = getattr(self.survey.looks[self.last], LOOKS[look])
        if seen and remark:
            self._take(self.last, look, seen._replace(note=remark))

    def _take(self, ref: str, look: int, seen: Seen) -> None:
        before = self.survey.looks.get(ref, Looks())[look]
        if before is not None and before.kind == seen.kind and not seen.note:
            seen = before
        self.survey = self.survey.answered(ref, look, seen)
        self.keep(self.survey)
        self.kept, self.last = True, ref
