"""Taking off, on the page: the way and the order of pins at the step; probes and wires where the place is proven."""

from reworkkit.model.measuring import Check
from reworkkit.model.messages import Message, message
from reworkkit.model.removal import DesolderPlan, RemovalPlan, Save
from reworkkit.show.desolder_text import pin_words
from reworkkit.show.sheet import AlertLine, Line
from reworkkit.show.sheet_words import Speaker


class Removals:
    """What the steps of taking off and of proving a bare place show; empty where nothing comes off."""

    def __init__(self, plan: DesolderPlan | None, speaker: Speaker) -> None:
        self.parts = {part.ref: part for part in plan.parts} if plan else {}
        self.checks = plan.proof.sheet.checks if plan else ()
        self.findings = plan.proof.sheet.findings if plan else ()
        self.speaker = speaker

    def way(self, ref: str) -> tuple[Line, ...]:
        """Return how a part comes off: what to save, before, the way, what to add, the pins in order."""
        part = self.parts.get(ref)
        if part is None or not part.fitted:
            return ()
        say = self.speaker.say
        slug = "desolder-save-part" if part.save is Save.PART else "desolder-save-board"
        lines = [Line(say(message(slug, why=say(part.save_why))), "plain")]
        lines += [Line(say(message("desolder-before", text=say(text))), "plain") for text in part.before]
        lines.append(Line(say(message("desolder-way", way=say(part.method_words))), "rule" if part.method else "doubt"))
        lines += [Line(say(message("desolder-added", text=say(text))), "plain") for text in part.added]
        return (*lines, *self._pins(part))

    def _pins(self, part: RemovalPlan) -> tuple[Line, ...]:
        """Return the pins in order where they differ in what they ask."""
        asks: dict[str, list[str]] = {}
        for pin in part.pins:
            asks.setdefault(pin_words(pin, self.speaker.language), []).append(pin.pin)
        if len(asks) < 2 or part.order_why is None:
            return ()
        rows = [f"{' '.join(f'{part.ref}.{pin}' for pin in pins)}: {words}" for words, pins in asks.items()]
        return (Line(self.speaker.say(part.order_why), "plain"), *(Line(row, "plain") for row in rows))

    def alerts(self, ref: str) -> tuple[AlertLine, ...]:
        """Return the warnings and cautions for taking a part off."""
        part = self.parts.get(ref)
        return self.speaker.alerts(part.alerts) if part is not None and part.fitted else ()

    def probes(self, ref: str) -> tuple[Check, ...]:
        """Return the probes that prove the place of a part."""
        return tuple(check for check in self.checks if ref in check.refs)

    def wires(self, ref: str) -> tuple[Line, ...]:
        """Return the wires to run from the place of a part."""
        found = [one.message for one in self.findings if one.refs[:1] == (ref,)]
        return tuple(Line(self.speaker.say(text), "doubt") for text in found)

    def after(self, ref: str) -> tuple[Line, ...]:
        """Return what to look at once the part is off."""
        part = self.parts.get(ref)
        texts: tuple[Message, ...] = part.afterwards if part is not None else ()
        return tuple(
            Line(self.speaker.say(message("desolder-after", text=self.speaker.say(t))), "plain") for t in texts
        )
