"""The package's docstrings are prose for people who read code: here they become reStructuredText without changing a word."""

from __future__ import annotations

import re

_SIGNS = re.compile(r"(?<![\w`\\])([*|])(?=\S)|(\w)_(?=[\s,.;:)]|$)")
# An argument with what it is; what comes after the arguments.
_ARGUMENT = re.compile(r"^((?:[a-z_][a-z0-9_]*)(?:, [a-z_][a-z0-9_]*| and [a-z_][a-z0-9_]*)*(?: \([^)]*\))?): (.+)$")
_AFTER = re.compile(r"^(Returns?|Raises|Formula|Check|Valid|Source|[A-Z]\w+Error)\b")


def escaped(line: str) -> str:
    """A line in which signs that reStructuredText would take for markup stand for themselves; code in backticks stays."""
    parts = re.split(r"(``[^`]*``|`[^`]*`)", line)
    return "".join(part if part.startswith("`") else _SIGNS.sub(_escape, part) for part in parts)


def _escape(match: re.Match) -> str:
    return f"\\{match.group(1)}" if match.group(1) else f"{match.group(2)}\\_"


def listed(lines: list[str]) -> list[str]:
    """Lines such as `seed: the file's when None` as a list of arguments; other lines stay paragraphs, none indented by chance."""
    told: list[str] = []
    within = False
    for line in lines:
        argument = _ARGUMENT.match(line)
        if argument:
            told += [""] if told and told[-1] and not within else []
            told.append(f"- `{argument.group(1)}`: {argument.group(2)}")
            within = True
        elif not line.strip():
            within = False
            told.append("")
        elif within and _AFTER.match(line):
            within = False
            told += ["", line]
        elif within:
            told.append("  " + line.strip())
        else:
            told.append(line.strip() if told and told[-1] and not told[-1].startswith(" ") else line)
    return told


def _process(app, what, name, obj, options, lines: list[str]) -> None:
    lines[:] = [line if line.startswith("        ") else escaped(line) for line in listed(lines)]


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
