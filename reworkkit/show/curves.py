"""Charts of our own: as SVG with title, description and the table that says the same, and as text for a terminal."""

import math
from html import escape

from reworkkit.model.live import LiveCurve, Series
from reworkkit.model.messages import Message
from reworkkit.show.texts import sentence

WIDTH, HEIGHT = 320.0, 170.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 46.0, 10.0, 12.0, 34.0
_DASHES = ("", "6 3", "2 3", "8 3 2 3")
_SIGNS = "*o+x"
TEXT_WIDTH, TEXT_HEIGHT = 56, 9
TABLE_ROWS = 7


class Frame:
    """The ranges of a chart and where a value lies in it."""

    def __init__(self, curve: LiveCurve) -> None:
        points = [point for one in curve.series for point in one.points]
        values = [y for _, y in points] + [value for value, _ in curve.marks]
        self.x_low = min((x for x, _ in points), default=0.0)
        self.x_high = max((x for x, _ in points), default=1.0)
        self.y_low = min(0.0, min(values, default=0.0))
        top = max(values, default=1.0)
        self.step = nice_step((top - self.y_low) / 4)
        self.y_high = self.y_low + self.step * math.ceil((top - self.y_low) / self.step - 1e-9)
        self.x_step = nice_step((self.x_high - self.x_low) / 5)

    def x(self, value: float) -> float:
        """Return where a time lies, 0 to 1 from the left."""
        return (value - self.x_low) / ((self.x_high - self.x_low) or 1.0)

    def y(self, value: float) -> float:
        """Return where a value lies, 0 to 1 from the bottom."""
        return (value - self.y_low) / ((self.y_high - self.y_low) or 1.0)

    def x_ticks(self) -> list[float]:
        """Return the round values along the bottom."""
        return _ticks(self.x_low, self.x_high, self.x_step)

    def y_ticks(self) -> list[float]:
        """Return the round values along the side."""
        return _ticks(self.y_low, self.y_high, self.step)


def nice_step(rough: float) -> float:
    """Return the next of 1, 2, 5 times a power of ten that is not smaller.

    >>> nice_step(24), nice_step(0.11), nice_step(0)
    (50.0, 0.2, 1.0)
    """
    if not rough > 0 or not math.isfinite(rough):
        return 1.0
    power = 10.0 ** math.floor(math.log10(rough))
    return next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= rough * (1 - 1e-9))


def _ticks(low: float, high: float, step: float) -> list[float]:
    first = math.ceil(low / step - 1e-9)
    return [n * step for n in range(first, math.floor(high / step + 1e-9) + 1)]


def svg_chart(curve: LiveCurve, language: str = "en", key: str = "") -> str:
    """Return the chart as one SVG element; the caller marks it safe. Every text in it is escaped here."""
    frame, words = Frame(curve), _Words(language)
    wide, high = WIDTH - _LEFT - _RIGHT, HEIGHT - _TOP - _BOTTOM
    name = escape(key or curve.key)
    pieces = [
        f'<svg class="chart" role="img" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" aria-labelledby="{name}-t {name}-d">',
        f'<title id="{name}-t">{words.say(curve.title)}</title><desc id="{name}-d">{_described(curve, words)}</desc>',
    ]
    for value in frame.y_ticks():
        y = _TOP + high * (1 - frame.y(value))
        pieces.append(f'<path class="grid" d="M{_LEFT:g} {y:.1f}h{wide:g}"/>')
        pieces.append(f'<text class="tick-y" x="{_LEFT - 5:g}" y="{y + 3.5:.1f}">{_number(value)}</text>')
    for value in frame.x_ticks():
        x = _LEFT + wide * frame.x(value)
        pieces.append(f'<path class="grid" d="M{x:.1f} {_TOP:g}v{high:g}"/>')
        pieces.append(f'<text class="tick-x" x="{x:.1f}" y="{HEIGHT - _BOTTOM + 13:g}">{_number(value)}</text>')
    for value, mark in curve.marks:
        y = _TOP + high * (1 - frame.y(value))
        below = any(0 < high * (frame.y(other) - frame.y(value)) < 12 for other, _ in curve.marks)
        at = y + 11 if below else y - 3
        pieces.append(f'<path class="mark-line" d="M{_LEFT:g} {y:.1f}h{wide:g}"/>')
        pieces.append(f'<text class="mark-name" x="{WIDTH - _RIGHT:g}" y="{at:.1f}">{words.say(mark)}</text>')
    for n, one in enumerate(curve.series):
        path = "L".join(
            f"{_LEFT + wide * frame.x(x):.1f} {_TOP + high * (1 - frame.y(y)):.1f}" for x, y in _thinned(one.points)
        )
        dash = _DASHES[n % len(_DASHES)]
        pieces.append(
            f'<path class="curve"{f" stroke-dasharray={chr(34)}{dash}{chr(34)}" if dash else ""} d="M{path}"/>'
        )
    labels = f"{words.say(curve.y_label)} / {words.say(curve.x_label)}"
    pieces.append(f'<text class="axis" x="{_LEFT:g}" y="{HEIGHT - 4:g}">{labels}</text></svg>')
    return "".join(pieces)


class _Words:
    """Speaks into SVG: every sentence escaped."""

    def __init__(self, language: str) -> None:
        self.language = language

    def say(self, text: Message) -> str:
        """Return the sentence, escaped."""
        return escape(sentence(text, self.language))


def _described(curve: LiveCurve, words: _Words) -> str:
    """Return what a person who cannot see the chart must know: each line's first and last value."""
    told = []
    for one in curve.series:
        if one.points:
            (x0, y0), (x1, y1) = one.points[0], one.points[-1]
            ends = f"{_number(y0)} {curve.unit} ({_number(x0)}) \u2013 {_number(y1)} {curve.unit} ({_number(x1)})"
            told.append(f"{words.say(one.name)}: {escape(ends)}")
    return "; ".join(told)


def _thinned(points: tuple[tuple[float, float], ...], most: int = 400) -> list[tuple[float, float]]:
    """Return at most `most` points, each the last of an equal share: enough for a line of this width."""
    share = max(1, math.ceil(len(points) / most))
    return [*points[::share], *points[-1:]]


def _number(value: float, least: float = 1e-12) -> str:
    return f"{value:.3g}" if abs(value) > least else "0"


def chart_rows(curve: LiveCurve) -> list[tuple[str, ...]]:
    """Return the table that says what the chart shows: time, then one column a line."""
    longest = max((one.points for one in curve.series), key=len, default=())
    picks = sorted({round(n * (len(longest) - 1) / (TABLE_ROWS - 1)) for n in range(TABLE_ROWS)}) if longest else []
    most = max((abs(y) for one in curve.series for _, y in one.points), default=0.0)
    return [
        (
            _number(longest[n][0]),
            *(_number(one.points[n][1], most / 1000) if n < len(one.points) else "" for one in curve.series),
        )
        for n in picks
    ]


def chart_headings(curve: LiveCurve, language: str) -> tuple[str, ...]:
    """Return the headings of that table."""
    names = [f"{sentence(one.name, language)}, {curve.unit}".removesuffix(", ") for one in curve.series]
    return (sentence(curve.x_label, language), *names)


def text_chart(curve: LiveCurve, language: str = "en") -> list[str]:
    """Return the chart as lines of characters, values at the left, times below, a legend where lines are several."""
    frame = Frame(curve)
    grid = [[" "] * TEXT_WIDTH for _ in range(TEXT_HEIGHT)]
    for n, one in enumerate(curve.series):
        _draw(grid, frame, one, _SIGNS[n % len(_SIGNS)])
    lines = []
    for row in range(TEXT_HEIGHT):
        value = frame.y_high - (frame.y_high - frame.y_low) * row / (TEXT_HEIGHT - 1)
        label = _number(value) if row % 4 == 0 else ""
        lines.append(f"{label:>8} |{''.join(grid[row]).rstrip()}")
    lines.append(" " * 9 + "+" + "-" * TEXT_WIDTH)
    ends = f"{_number(frame.x_low)}{_number(frame.x_high):>{TEXT_WIDTH - len(_number(frame.x_low))}}"
    lines.append(" " * 10 + ends + f" {sentence(curve.x_label, language)}")
    names = [f"{_SIGNS[n % len(_SIGNS)]} {sentence(one.name, language)}" for n, one in enumerate(curve.series)]
    return [*lines, " " * 10 + "   ".join(names)]


def _draw(grid: list[list[str]], frame: Frame, one: Series, sign: str) -> None:
    for x, y in one.points:
        column = min(TEXT_WIDTH - 1, max(0, round(frame.x(x) * (TEXT_WIDTH - 1))))
        row = min(TEXT_HEIGHT - 1, max(0, round((1 - frame.y(y)) * (TEXT_HEIGHT - 1))))
        grid[row][column] = sign


_STYLE = (
    "text{font:10px sans-serif;fill:#444}.grid{fill:none;stroke:#ccc;stroke-width:.7}"
    ".curve{fill:none;stroke:#111;stroke-width:1.6}.mark-line{fill:none;stroke:#9c1c12;stroke-dasharray:4 3}"
    ".tick-y,.mark-name{text-anchor:end}.tick-x{text-anchor:middle}"
)


def svg_file(curves: tuple[LiveCurve, ...], language: str = "en") -> str:
    """Return the charts as one SVG file, below each other, on white, with its own style."""
    height = HEIGHT * max(len(curves), 1)
    charts = "".join(
        svg_chart(curve, language).replace(
            "<svg ", f'<svg y="{HEIGHT * n:g}" width="{WIDTH:g}" height="{HEIGHT:g}" ', 1
        )
        for n, curve in enumerate(curves)
    )
    opening = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {height:g}">'
    return f'{opening}<style>{_STYLE}</style><rect width="100%" height="100%" fill="#fff"/>{charts}</svg>\n'
