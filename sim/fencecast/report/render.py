"""Facts to one self-contained page. Escaping is on for every template, and a name that is not there is an error."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from fencecast import __version__
from fencecast.report.policy import content_policy, css_string, one_direction

# In this order; each part of the page has its own.
STYLES = ("page.css", "full.css", "where.css", "print.css")
CLIENT_STYLES = ("page.css", "print.css")
SCRIPT = "report.js"  # of the full edition; the client edition has none
TEMPLATES = "templates"
# What a margin of a printed page holds on one line beside the other half.
_LONGEST_TITLE, _LONGEST_ISSUE = 72, 20


def render(facts: Any, script: str | None = None) -> str:
    """The page of an edition's facts: `facts.edition` names its template; `script`: the text of the one script, or None."""
    sheet, furniture = _style_sheet(CLIENT_STYLES if facts.edition == "client" else STYLES), page_furniture(facts)
    page = (
        _environment()
        .get_template(f"{facts.edition}.html.j2")
        .render(
            facts=facts,
            mark=handling_mark(facts),
            policy=content_policy((sheet, furniture), script),
            # Of this package or escaped above: nothing of a user's stands in these unescaped.
            sheet=Markup(sheet),
            furniture=Markup(furniture),
            script=None if script is None else Markup(script),
            version=__version__,
        )
    )
    return one_direction(page)


def handling_mark(facts: Any) -> str:
    """The line on top: it says the edition, whatever else the sender has it say."""
    edition = _edition(facts)
    return facts.mark if facts.mark.startswith(edition) else f"{edition} · {facts.mark}"


def page_furniture(facts: Any) -> str:
    """The margins of printed pages: title and edition above, the caution and page of pages below."""
    left = css_string(shortened(facts.head.title, _LONGEST_TITLE))
    right = css_string(f"{_edition(facts)}, issue {shortened(facts.head.issue, _LONGEST_ISSUE)}")
    return (
        f"@page{{@top-left{{content:{left}}}@top-right{{content:{right};font-weight:bold}}"
        f"@bottom-left{{content:{css_string(facts.verdict.caution)}}}"
        '@bottom-right{content:counter(page)" of "counter(pages)}}'
    )


def shortened(text: str, most: int) -> str:
    """The text with at most `most` characters, dots at its end when it was longer."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "\u2026"


def _edition(facts: Any) -> str:
    return f"{facts.edition.upper()} EDITION"


@cache
def script_text() -> str:
    """The one script of the full edition, as it stands in the page."""
    return _text(SCRIPT)


@cache
def _style_sheet(names: tuple[str, ...]) -> str:
    return "\n".join(_text(name) for name in names)


def _text(name: str) -> str:
    return (files("fencecast.report") / TEMPLATES / name).read_text(encoding="utf-8")


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("fencecast.report", TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
