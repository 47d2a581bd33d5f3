"""Facts to one self-contained page. Escaping is on for every template, and a name that is not there is an error."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from fencecast import __version__
from fencecast.report.policy import content_policy, css_string

# In this order; each part of the page has its own.
STYLES = ("page.css", "where.css", "print.css")
SCRIPT = "report.js"  # of the full edition; the client edition has none
TEMPLATES = "templates"


def render(facts: Any, script: str | None = None) -> str:
    """The page of an edition's facts: `facts.edition` names its template; `script`: the text of the one script, or None."""
    sheet, furniture = _style_sheet(), page_furniture(facts)
    return (
        _environment()
        .get_template(f"{facts.edition}.html.j2")
        .render(
            facts=facts,
            policy=content_policy((sheet, furniture), script),
            # Of this package or escaped above: nothing of a user's stands in these unescaped.
            sheet=Markup(sheet),
            furniture=Markup(furniture),
            script=None if script is None else Markup(script),
            version=__version__,
        )
    )


def page_furniture(facts: Any) -> str:
    """The margins of printed pages: edition and title above, page of pages below."""
    left = css_string(facts.head.title)
    right = css_string(f"{facts.edition.upper()} EDITION, issue {facts.head.issue}")
    return (
        f"@page{{@top-left{{content:{left}}}@top-right{{content:{right}}}"
        '@bottom-right{content:counter(page)" of "counter(pages)}}'
    )


@cache
def script_text() -> str:
    """The one script of the full edition, as it stands in the page."""
    return _text(SCRIPT)


@cache
def _style_sheet() -> str:
    return "\n".join(_text(name) for name in STYLES)


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
