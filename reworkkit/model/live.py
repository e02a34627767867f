"""The first run at high energy: steps in order, each with its warnings, figures, blanks and reasons to stop."""

from dataclasses import dataclass, field

from reworkkit.model.messages import Finding, Message, NotJudged
from reworkkit.model.results import Alert


@dataclass(frozen=True, slots=True)
class LiveFigure:
    """One figure: its key, the value with its unit, the sentence that says it, and the keys of [live] it hangs on."""

    key: str
    value: float
    unit: str
    words: Message
    needs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LiveTable:
    """A table of one step: title, heading per column, rows of text; `____` is a blank to fill in by hand."""

    title: Message
    headings: tuple[Message, ...]
    rows: tuple[tuple[Message | str, ...], ...]


@dataclass(frozen=True, slots=True)
class LiveStep:
    """One step of the run. `alerts` stand before everything else of the step; `stops` forbid going on."""

    key: str
    title: Message
    alerts: tuple[Alert, ...] = ()
    figures: tuple[LiveFigure, ...] = ()
    todo: tuple[Message, ...] = ()
    blanks: tuple[Message, ...] = ()
    stops: tuple[Message, ...] = ()
    table: LiveTable | None = None
    not_judged: tuple[NotJudged, ...] = ()


@dataclass(frozen=True, slots=True)
class Series:
    """One line of a chart, as (time in seconds, value) points."""

    name: Message
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class LiveCurve:
    """What a quantity does over time; `marks` are values worth a line across the chart, with their name."""

    key: str
    title: Message
    x_label: Message
    y_label: Message
    unit: str
    series: tuple[Series, ...]
    marks: tuple[tuple[float, Message], ...] = ()


@dataclass(frozen=True, slots=True)
class LiveRun:
    """The whole run. `state` is `stop`, `unconfirmed` or `confirmed`; never a word that says safe."""

    state: str
    stops: tuple[Message, ...]
    hold_point: str | None
    high_energy: bool | None
    """Whether one of the three triggers is reached; None where too little is known to tell."""
    steps: tuple[LiveStep, ...]
    curves: tuple[LiveCurve, ...]
    findings: tuple[Finding, ...] = ()
    not_judged: tuple[NotJudged, ...] = ()
    lines: dict[str, str] = field(default_factory=dict)
    """Key of [live] -> where it was written: `board.toml:92`, or the option of the command line."""

    def figure(self, key: str) -> LiveFigure | None:
        """Return the figure of this key, or None where it could not be computed."""
        return next((one for step in self.steps for one in step.figures if one.key == key), None)
