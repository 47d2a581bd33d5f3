"""Pages that show what the code printed, drew or says of itself are read again when the code is another than at the last build.

Sphinx looks at the pages' own files alone: a second build into the same folder would show yesterday's output beside today's code.
"""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from references import PACKAGE

from fencecast.provenance import library_versions

# What a page can show without its own text changing: code and tables, pages made from them, templates and scripts of reports.
SUFFIXES = (".py", ".pyi", ".csv", ".toml", ".md", ".html", ".css", ".js", ".cff", ".kml", ".geojson")
MADE = re.compile(r"^@@[a-z-]+@@$|^```\{(command|python|given|picture|equation)\}", re.MULTILINE)


def code_hash(package: Path = PACKAGE) -> str:
    """SHA-256 of all that pages are made from beside their own text, what builds them included, and of libraries' versions."""
    found = hashlib.sha256(repr(sorted(library_versions().items())).encode())
    for path in sorted(path for path in package.rglob("*") if path.suffix in SUFFIXES):
        place = path.relative_to(package).as_posix()
        if not (place.startswith("docs/") and path.suffix == ".md"):  # these Sphinx looks at itself
            found.update(place.encode() + b"\0" + path.read_bytes())
    return found.hexdigest()


def _outdated(app, env, added, changed, removed) -> list[str]:
    """Pages with something made, when they were read under other code."""
    now = code_hash()
    if getattr(env, "fencecast_code", None) == now:
        return []
    env.fencecast_code = now  # kept with the pages once all are read
    return [name for name in env.found_docs if MADE.search(Path(env.doc2path(name)).read_text(encoding="utf-8"))]


def setup(app) -> dict:
    """Ask for these pages before any is read."""
    app.connect("env-get-outdated", _outdated)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
