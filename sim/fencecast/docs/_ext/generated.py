"""Pages and tables made from the schema and the code: a line `@@name@@` of a page stands for one of `pagetables.MADE`."""

from __future__ import annotations

import re

from pagetables import MADE

PLACE = re.compile(r"^@@([a-z-]+)@@$", re.MULTILINE)


def filled(text: str) -> str:
    """A page's text with every place filled; a name that nothing makes is a KeyError."""
    return PLACE.sub(lambda match: MADE[match.group(1)](), text)


def _fill(app, docname: str, source: list[str]) -> None:
    source[0] = filled(source[0])


def setup(app) -> dict:
    """Fill pages before they are parsed."""
    app.connect("source-read", _fill)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
