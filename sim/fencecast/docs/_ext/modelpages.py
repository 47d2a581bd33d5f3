"""The parts of the Model pages: an equation with its symbols, source, range and tests; names of tests that must exist.

```{equation} Band radiance
:code: physics.radiance.band_radiance      one or more, of the package
:source: definition                        a mark of references.MARKS, then who and when
:valid: 200 to 400 K
:tests: tests/physics/test_radiance.py::test_radiance_reference_values
L(T) = ...
---
L | band radiance | W/(m²·sr)
```
"""

from __future__ import annotations

from docutils import nodes
from docutils.parsers.rst import directives
from references import MARKS, mark_of, missing_code, missing_test, words_of
from sphinx.util.docutils import SphinxDirective, SphinxRole


class Equation(SphinxDirective):
    """One equation, complete or an error."""

    has_content = True
    required_arguments = 1
    final_argument_whitespace = True
    option_spec = dict.fromkeys(("code", "source", "valid", "tests"), directives.unchanged_required)

    def run(self) -> list[nodes.Node]:
        absent = [key for key in self.option_spec if key not in self.options]
        if absent:
            raise self.error(f"equation without {', '.join(absent)}")
        tests, code = words_of(self.options["tests"]), words_of(self.options["code"])
        wrong = [w for w in (*map(missing_test, tests), *map(missing_code, code)) if w]
        if mark_of(self.options["source"]) is None:
            wrong.append(f"a source begins with one of: {', '.join(MARKS)}")
        text = "\n".join(self.content)
        formula, _, rows = text.partition("\n---\n")
        if wrong or not rows.strip():
            raise self.error("; ".join(wrong) or "an equation needs its symbols after ---")
        name = nodes.make_id(self.arguments[0])
        title = nodes.rubric("", self.arguments[0], ids=[name], names=[name])
        self.state.document.note_explicit_target(title)
        block = nodes.math_block(formula.strip(), formula.strip(), nowrap=False, number=None, label=None)
        return [nodes.container("", title, block, self.symbols(rows), self.facts(tests, code), classes=["equation-entry"])]

    def symbols(self, rows: str) -> nodes.Node:
        """Symbol, meaning, unit: a table."""
        lines = [[part.strip() for part in row.split("|")] for row in rows.strip().splitlines()]
        for line in lines:
            if len(line) != 3:
                raise self.error(f"symbol | meaning | unit, not {line}")
        table, group = nodes.table(classes=["symbols"]), nodes.tgroup(cols=3)
        table += group
        group += [nodes.colspec(colwidth=width) for width in (12, 70, 18)]
        head, body = nodes.thead(), nodes.tbody()
        group += [head, body]
        head += nodes.row("", *(nodes.entry("", nodes.paragraph("", word)) for word in ("symbol", "meaning", "unit")))
        for symbol, meaning, unit in lines:
            row = nodes.row("", nodes.entry("", nodes.paragraph("", "", nodes.math(symbol, symbol))))
            for part in (meaning, unit or "1"):
                row += nodes.entry("", nodes.paragraph("", "", *self.parse_inline(part)[0]))
            body += row
        return table

    def facts(self, tests: list[str], code: list[str]) -> nodes.Node:
        """Source, range, code and tests: a list of fields."""
        fields = nodes.field_list(classes=["facts"])

        def add(name: str, *parts: nodes.Node) -> None:
            fields.append(nodes.field("", nodes.field_name("", name), nodes.field_body("", nodes.paragraph("", "", *parts))))

        add("Source", *self.parse_inline(self.options["source"])[0])
        add("Valid", *self.parse_inline(self.options["valid"])[0])
        add("Code", *_listed(f"fencecast.{name}" for name in code))
        add("Checked by", *_listed(tests))
        return fields


def _listed(names) -> list[nodes.Node]:
    parts: list[nodes.Node] = []
    for name in names:
        parts += [nodes.Text(", ")] if parts else []
        parts.append(nodes.literal(name, name))
    return parts


class TestName(SphinxRole):
    """A test by its name, which must exist."""

    def run(self):
        wrong = missing_test(self.text)
        if wrong:
            return [], [self.inliner.reporter.error(wrong, line=self.lineno)]
        return [nodes.literal(self.text, self.text)], []


class CodeName(SphinxRole):
    """A function of the package by its name, which must exist."""

    def run(self):
        wrong = missing_code(self.text)
        if wrong:
            return [], [self.inliner.reporter.error(wrong, line=self.lineno)]
        return [nodes.literal(self.text, f"fencecast.{self.text}")], []


def setup(app) -> dict:
    """Add the directive `equation` and the roles `test` and `formula`."""
    app.add_directive("equation", Equation)
    app.add_role("test", TestName())
    app.add_role("formula", CodeName())
    return {"parallel_read_safe": True, "parallel_write_safe": True}
