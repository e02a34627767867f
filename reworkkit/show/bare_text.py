"""Probes of bare places as a table: which land, where to hold the other probe, which net, a place for the reading."""

from reworkkit.model.check_sheet import CheckSheet
from reworkkit.model.measuring import Check
from reworkkit.model.messages import Message, message
from reworkkit.model.values import Band
from reworkkit.show.terminal import Report

BLANK = "____"


def print_bare(report: Report, sheet: CheckSheet) -> None:
    """Print the alerts and the probes of bare places; nothing where none is left."""
    if not sheet.checks:
        return
    for level, alert in sheet.alerts:
        report.screen.line(f"{level.value.upper()}: {report.words(alert)}", level.value, indent=2)
    columns = ("bare-column-from", "bare-column-touch", "bare-column-to", "bare-column-net", "bare-column-read")
    rows = [
        (str(n), check.point.a, report.words(touch_words(check)), check.point.b or "-", net_of(check), BLANK)
        for n, check in enumerate(sheet.checks, start=1)
    ]
    report.screen.table(rows, ("", *(report.words(Message(slug)) for slug in columns)))
    first = sheet.checks[0]
    most = f"{first.expect.high:g}" if isinstance(first.expect, Band) else "-"
    report.say("bare-must-beep", style="quiet", indent=2, most=most, point=first.point.text)


def touch_words(check: Check) -> Message:
    """Return which lands of the pin to touch: one, each of several, or both ends of a hole."""
    if check.why.slug == "bare-probe-hole":
        return message("bare-both-sides")
    if check.why.slug == "bare-probe-wire":
        return message("bare-wire-end")
    if check.why.slug == "bare-probe-lands":
        return message("bare-each-land", lands=str(check.why.fact("lands")))
    return message("bare-one-land")


def net_of(check: Check) -> str:
    """Return the net a probe proves, as the netlist writes it."""
    return str(check.why.fact("net"))
