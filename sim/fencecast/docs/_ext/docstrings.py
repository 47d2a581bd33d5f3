"""The package's docstrings are prose for people who read code: here they become reStructuredText without changing a word."""

from __future__ import annotations

import re

_SIGNS = re.compile(r"(?<![\w`\\])([*|])(?=\S)|(\w)_(?=[\s,.;:)]|$)")


def escaped(line: str) -> str:
    """A line in which signs that reStructuredText would take for markup stand for themselves; code in backticks stays."""
    parts = re.split(r"(``[^`]*``|`[^`]*`)", line)
    return "".join(part if part.startswith("`") else _SIGNS.sub(_escape, part) for part in parts)


def _escape(match: re.Match) -> str:
    return f"\\{match.group(1)}" if match.group(1) else f"{match.group(2)}\\_"


def _process(app, what, name, obj, options, lines: list[str]) -> None:
    told: list[str] = []
    for line in lines:
        # The end of an indented part: reStructuredText asks for a blank line there.
        if told and told[-1].startswith("    ") and line[:1].strip():
            told.append("")
        told.append(line if line.startswith("        ") else escaped(line))
    lines[:] = told


def _public(app, env, node, contnode):
    """A type of a signature by its public name: `fencecast.site.Site` is found as `fencecast.Site`."""
    target = node.get("reftarget", "")
    name = target.rpartition(".")[2]
    if node.get("refdomain") != "py" or not target.startswith("fencecast.") or target == f"fencecast.{name}":
        return None
    return env.get_domain("py").resolve_xref(env, node["refdoc"], app.builder, "obj", f"fencecast.{name}", node, contnode)


def setup(app) -> dict:
    """Escape docstrings before numpydoc reads them; find public types."""
    app.connect("autodoc-process-docstring", _process, priority=100)
    app.connect("missing-reference", _public)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
