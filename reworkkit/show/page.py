"""The one place where a sheet becomes a page: environment, our own SVG marked safe, style and script laid in."""

from functools import cache
from importlib.resources import files

import jinja2
from markupsafe import Markup

from reworkkit.model.board import Board
from reworkkit.model.live import LiveRun
from reworkkit.show.drawings import Picture, number, svg_of
from reworkkit.show.live_sheet import live_sheet
from reworkkit.show.sheet import Sheet
from reworkkit.show.sheet_words import Speaker

TEMPLATE = "bench-sheet.html.j2"
STYLES = ("style.css", "paper.css")
SCRIPTS = ("script.js", "script-survey.js", "script-readings.js")
LIVE_TEMPLATE = "live-run.html.j2"


@cache
def environment() -> jinja2.Environment:
    """Return the environment of all pages: everything escaped, an unknown name is an error."""
    made = jinja2.Environment(
        loader=jinja2.PackageLoader("reworkkit.show", "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters["picture"] = _picture
    made.filters["mm"] = number
    made.filters["drawn"] = Markup  # charts: SVG text of show/curves.py, every word in it escaped there
    return made


def _picture(picture: Picture) -> Markup:
    return Markup(svg_of(picture.pieces))


@cache
def laid_in(*names: str) -> Markup:
    """Return style sheets or scripts of ours, one after the other, to be laid into a page as they are."""
    folder = files(__package__) / "templates"
    return Markup("\n".join((folder / name).read_text(encoding="utf-8").strip() for name in names))


def render_sheet(sheet: Sheet) -> str:
    """Return the page: one self-contained file. Equal sheets give the same bytes."""
    template = environment().get_template(TEMPLATE)
    return template.render(
        sheet=sheet,
        views={view.side: view for view in sheet.views},
        say=Speaker(sheet.language).text,
        style=laid_in(*STYLES),
        script=laid_in(*SCRIPTS),
        facts=page_facts(sheet),
    )


def render_live_sheet(run: LiveRun, board: Board, language: str) -> str:
    """Return the live run to print as one HTML file: front and back of one A4."""
    sheet = live_sheet(run, board.name, board.revision or "", language)
    return environment().get_template(LIVE_TEMPLATE).render(live=sheet, say=Speaker(language).text, language=language)


def page_facts(sheet: Sheet) -> dict[str, object]:
    """Return what the page's script must know: identity for the page state, and its words."""
    return {
        "format": "reworkkit.page_state/1",
        "board_id": sheet.board_id,
        "job": sheet.job_id or None,
        "copy": sheet.copy,
        "plan": sheet.plan_id,
        "at_event": sheet.at_event,
        "name": sheet.name,
        "texts": dict(sheet.script_texts),
        "states": [{"state": word.state, "key": word.key, "facets": dict(word.facets)} for word in sheet.state_words],
    }
