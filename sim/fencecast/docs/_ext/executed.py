"""What pages show was made while they were read: commands, Python, pictures.

A page has a folder of its own, empty at its start; what one block writes the next one finds there.

    ```{command} fencecast run yard.toml      shows the command and what it prints; :from: and :to: cut the output to the
    ```                                       lines from one that holds a text up to the one before a line that holds another
    ```{python}                               runs the lines and shows them with what they print; names last for the page
    ```{given} yard.toml                      puts a file into the folder: one beside the page, or (:text:) the block's own
    ```{picture} yard-results/plan.png        the picture, with :alt: and a line beneath

A command that ends otherwise than it should (:exit:, 0) and Python that fails stop the build.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

from docutils import nodes
from docutils.parsers.rst import directives
from sphinx.util import logging
from sphinx.util.docutils import SphinxDirective

LOG = logging.getLogger(__name__)
# Seconds and rates differ from build to build.
TIMES = (
    (re.compile(r"\d[\d,.]* s · \d[\d,]* looks a second"), "… s"),
    (re.compile(r'("seconds": )[\d.]+'), r"\1…"),
    (re.compile(r"(?<=· )\d[\d,.]* s\b(?=$| ·)", re.MULTILINE), "… s"),
)
COLUMNS = "88"
_IMAGE = re.compile(r'(<img [^>]*src="([^"]*_images/[^"]+)"[^>]*>)')


def folder_of(env) -> Path:
    """Where the page that is being read works."""
    return Path(env.doctreedir) / "executed" / env.docname


class Executed(SphinxDirective):
    """What the directives have in common."""

    has_content = True
    option_spec = {"from": directives.unchanged, "to": directives.unchanged, "silent": directives.flag}

    def folder(self) -> Path:
        """The page's folder, emptied when the page is read anew."""
        folder = folder_of(self.env)
        if self.env.temp_data.setdefault("executed", None) != self.env.docname:
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir(parents=True)
            self.env.temp_data["executed"] = self.env.docname
            self.env.temp_data["names"] = {"__name__": "__main__"}
        return folder

    def shown(self, said: str, cut: str = "…") -> str:
        """Of an output what :from: and :to: leave; what they ask for must be there."""
        for pattern, instead in TIMES:
            said = pattern.sub(instead, said)
        lines = [line.rstrip() for line in said.rstrip().splitlines()]
        first, last = 0, len(lines)
        if "from" in self.options:
            first = self.line_with(lines, self.options["from"], 0)
        if "to" in self.options:
            last = self.line_with(lines, self.options["to"], first + 1)
        kept = lines[first:last]
        while kept and not kept[-1]:
            kept.pop()
        return "\n".join([*([cut] if first else []), *kept, *([cut] if last < len(lines) else [])])

    def line_with(self, lines: list[str], text: str, start: int) -> int:
        for index in range(start, len(lines)):
            if text in lines[index]:
                return index
        raise self.error(f'no line of the output holds "{text}":\n' + "\n".join(lines))

    def block(self, text: str, language: str, kind: str) -> nodes.Node:
        node = nodes.literal_block(text, text, classes=[kind])
        node["language"] = language
        self.set_source_info(node)
        return node


class Command(Executed):
    """One command of the command line: shown, run, its output shown."""

    required_arguments = 1
    final_argument_whitespace = True
    option_spec = {**Executed.option_spec, "exit": directives.nonnegative_int}

    def run(self) -> list[nodes.Node]:
        typed = self.arguments[0].strip()
        words = shlex.split(typed)
        if words[0] != "fencecast":
            raise self.error("a command begins with fencecast")
        LOG.info("running %s", typed)
        ended = subprocess.run(
            [sys.executable, "-m", "fencecast", *words[1:]],
            cwd=self.folder(),
            env={**os.environ, "COLUMNS": COLUMNS, "NO_COLOR": "1", "TERM": "dumb"},
            capture_output=True,
            text=True,
        )
        if ended.returncode != self.options.get("exit", 0):
            raise self.error(f"{typed} ended with {ended.returncode}:\n{ended.stdout}\n{ended.stderr}")
        found = [self.block(f"$ {typed}", "console", "command")]
        said = ended.stdout if ended.returncode != 2 else ended.stderr
        if "silent" not in self.options and said.strip():
            found.append(self.block(self.shown(said), "text", "output"))
        return found


class Python(Executed):
    """Lines of Python: shown, run, what they print shown. Names last for the page."""

    def run(self) -> list[nodes.Node]:
        folder, code = self.folder(), "\n".join(self.content)
        printed = io.StringIO()
        LOG.info("running Python of %s", self.env.docname)
        with contextlib.chdir(folder), contextlib.redirect_stdout(printed):
            exec(compile(code, f"{self.env.docname}:{self.lineno}", "exec"), self.env.temp_data["names"])
            if "matplotlib.pyplot" in sys.modules:
                sys.modules["matplotlib.pyplot"].close("all")
        found = [self.block(code, "python", "command")]
        if "silent" not in self.options and printed.getvalue().strip():
            found.append(self.block(self.shown(printed.getvalue()), "text", "output"))
        return found


class Given(Executed):
    """A file that the page's commands find: named, shown as it is."""

    required_arguments = 1
    option_spec = {**Executed.option_spec, "text": directives.flag}

    def run(self) -> list[nodes.Node]:
        name = self.arguments[0]
        if "text" in self.options:
            text = "\n".join(self.content) + "\n"
        else:
            beside, source = self.env.relfn2path(name)
            self.env.note_dependency(beside)
            text = Path(source).read_text(encoding="utf-8")
        target = self.folder() / Path(name).name
        target.write_text(text, encoding="utf-8")
        if "silent" in self.options:
            return []
        language = {".toml": "toml", ".py": "python"}.get(target.suffix, "text")
        return [self.block(self.shown(text, "# …"), language, "given")]


class Picture(Executed):
    """A picture that an earlier block of the page wrote."""

    required_arguments = 1
    option_spec = {"alt": directives.unchanged_required}

    def run(self) -> list[nodes.Node]:
        path = self.folder() / self.arguments[0]
        if not path.is_file():
            raise self.error(f"no block of this page wrote {self.arguments[0]}")
        if not self.options.get("alt"):
            raise self.error("a picture needs :alt:, what it shows in words")
        # By its place from the folder of the page: Sphinx copies it from there.
        uri = os.path.relpath(path, Path(self.env.doc2path(self.env.docname)).parent)
        figure = nodes.figure("", nodes.image(uri=uri, alt=self.options["alt"]), classes=["made"])
        if self.content:
            inline, _ = self.parse_inline(" ".join(self.content))
            figure += nodes.caption("", "", *inline)
        return [figure]


def _linked(app, pagename, templatename, context, doctree) -> None:
    """On a telephone a picture is small: each one leads to itself in full size."""
    if "body" in context:
        context["body"] = _IMAGE.sub(r'<a class="picture" href="\2">\1</a>', context["body"])


def setup(app) -> dict:
    """Add the four directives."""
    app.add_directive("command", Command)
    app.add_directive("python", Python)
    app.add_directive("given", Given)
    app.add_directive("picture", Picture)
    app.connect("html-page-context", _linked)
    # Pages share nothing, but compiled code and both processors are used by one at a time.
    return {"parallel_read_safe": False, "parallel_write_safe": True}
