"""How to cite the program, and what a results file says about its own methods (`fencecast cite`).

Of results nothing is said that is not in their file; what an older file does not hold is named as not on record.
"""

from __future__ import annotations

import json
import re
from os import PathLike

import xarray as xr

from fencecast import __version__
from fencecast.errors import UsageError, did_you_mean
from fencecast.estimate.results import Results
from fencecast.estimate.store import open_results
from fencecast.findings.citeformats import FORMATS
from fencecast.findings.limits import limits_object
from fencecast.findings.methods import Methods, methods_of

PROGRAM = "fencecast"
AUTHORS = "The fencecast developers"
DESCRIPTION = "Monte Carlo performance simulator for short-range thermal perimeter detection"
LICENCE = "Apache-2.0"
KEYWORDS = ("Monte Carlo simulation", "thermal imaging", "perimeter")
AnyFile = str | PathLike[str] | xr.Dataset | Results


def cite(results: AnyFile | None = None, format: str = "text") -> str:
    """How to cite fencecast; with results, the version that made them and a paragraph on their methods (text, json).

    results: the path of a results file of `run`, `compare` or `study`, or what these functions return. format: "text", "bibtex",
    "cff" (the Citation File Format 1.2.0) or "json".
    UsageError for another format and for a file that holds no results.
    """
    if format not in FORMATS:
        raise UsageError(f'format "{format}" is not known: there are {", ".join(FORMATS)}' + did_you_mean(format, FORMATS))
    if format == "json":
        return json.dumps(cite_object(results), indent=2)
    methods = _methods(results)
    return {"text": cite_text, "bibtex": bibtex, "cff": cff}[format](methods)


def cite_object(results: AnyFile | None = None) -> dict[str, object]:
    """The object of `fencecast cite --format json`."""
    methods = _methods(results)
    said: dict[str, object] = {
        "program": PROGRAM,
        "version": _version(methods),
        "authors": [AUTHORS],
        "description": DESCRIPTION,
        "licence": LICENCE,
        "citation": citation(methods),
        "bibtex": bibtex(methods),
        "results": None,
    }
    if methods is not None:
        said["results"] = methods.as_object()
        said |= limits_object(dict(methods.attrs))
    return said


def cite_text(methods: Methods | None = None) -> str:
    """The line to cite and, of results, the paragraph, what is not on record, and the caution; paragraphs are not wrapped."""
    parts = [f"To cite {PROGRAM}:", citation(methods)]
    if methods is None:
        more = (
            f"{PROGRAM} cite RESULTS.nc adds a paragraph on the methods of a run; --format bibtex and --format cff give entries."
        )
        return "\n\n".join([*parts, more])
    parts += [f"Methods of {methods.what}, as its file says:", methods.paragraph]
    if methods.missing:
        parts.append(f"Not on record in this file: {', '.join(methods.missing)}.")
    return "\n\n".join([*parts, methods.caution])


def citation(methods: Methods | None = None) -> str:
    """`The fencecast developers: fencecast, version 0.1.0. Monte Carlo ... Computer program, Apache-2.0 licence.`"""
    code = "" if methods is None or not methods.code else f" Code SHA-256 {methods.code}."
    return f"{AUTHORS}: {PROGRAM}, version {_version(methods)}. {DESCRIPTION}. Computer program, {LICENCE} licence.{code}"


def bibtex(methods: Methods | None = None) -> str:
    """A BibTeX entry; there is no year in it, because this version has no date of publication."""
    version = _version(methods)
    fields = {
        "author": f"{{{AUTHORS}}}",
        "title": f"{{{PROGRAM}}}: {DESCRIPTION}",
        "howpublished": f"Computer program, version {_latex(version)}, {LICENCE} licence",
    }
    if methods is not None:
        code = [f"Code SHA-256 {methods.code}"] if methods.code else []
        of = f"results of {_latex(methods.title)}" + (f" computed {methods.created[:10]}" if methods.created else "")
        fields["note"] = "; ".join([*code, of, f"{methods.file_kind} SHA-256 {methods.site_sha256}"])
    key = f"{PROGRAM}_{re.sub('[^A-Za-z0-9]+', '_', version)}"
    return f"@misc{{{key},\n" + "".join(f"  {name} = {{{value}}},\n" for name, value in fields.items()) + "}"


def cff(methods: Methods | None = None) -> str:
    """The Citation File Format 1.2.0; of the running version it is the file CITATION.cff of the package."""
    lines = [
        "cff-version: 1.2.0",
        f"message: If you use {PROGRAM}, please cite it as below.",
        f"title: {PROGRAM}",
        f"abstract: {DESCRIPTION}",
        "type: software",
        "authors:",
        f"  - name: {AUTHORS}",
        f"version: {_yaml(_version(methods))}",
        f"license: {LICENCE}",
        "keywords:",
        *(f"  - {word}" for word in KEYWORDS),
    ]
    if methods is not None and methods.code:
        lines += ["identifiers:", "  - type: other", f"    value: sha256:{methods.code}"]
        lines.append("    description: SHA-256 of the sources and tables that the results come from")
    return "\n".join(lines)


def _methods(results: AnyFile | None) -> Methods | None:
    if results is None:
        return None
    data = open_results(results) if isinstance(results, (str, PathLike)) else results
    return methods_of(data.data if isinstance(data, Results) else data)


def _version(methods: Methods | None) -> str:
    """Of results the version that made them, not the one that reads them."""
    return __version__ if methods is None else methods.version


def _yaml(text: str) -> str:
    """A version as a YAML text: in quotes when it could be read as a number or holds a sign with a meaning."""
    return text if re.fullmatch(r"\d+\.\d+\.\d+[A-Za-z0-9]*", text) else json.dumps(text)


_LATEX = {"\\": r"\textbackslash{}", "~": r"\textasciitilde{}", "^": r"\textasciicircum{}"} | {c: f"\\{c}" for c in "#$%&_{}"}


def _latex(text: str) -> str:
    return "".join(_LATEX.get(c, c) for c in text)
