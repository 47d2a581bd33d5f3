"""`fc.report`: results in, one page out. Nothing is simulated."""

from __future__ import annotations

import hashlib
from os import PathLike
from pathlib import Path

import xarray as xr

from fencecast.errors import UsageError
from fencecast.estimate.results import Results
from fencecast.estimate.store import open_results
from fencecast.findings.calibration import rests_on_rehearsal
from fencecast.prove.proof.proof import Proof, read_proof
from fencecast.report.client import client_facts
from fencecast.report.full import full_facts
from fencecast.report.options import STATUSES, ReportOptions
from fencecast.report.render import render, script_text
from fencecast.report.sections.section import Source


def report(
    results: Results | xr.Dataset | str | PathLike[str],
    edition: str = "full",
    compare: xr.Dataset | str | PathLike[str] | None = None,
    *,
    made_for: str = "",
    made_by: str = "",
    issue: str = "1",
    status: str = "",
    date: str = "",
    mark: str = "",
    site_file: bool = True,
    walk_plan: str | PathLike[str] | None = None,
    score: str | PathLike[str] | None = None,
    calibration: str | PathLike[str] | None = None,
    built: str | PathLike[str] | None = None,
) -> str:
    """The report of results as one self-contained HTML page: the same text for the same input, wherever and whenever.

    Arguments: results, of `run`, or the path of their file; edition, "full" (where, when and why; for the reader named on it) or
    "client" (no places, cameras or schedules; the title and the names of weather classes stay, so none should name a place);
    compare, results of `compare` of the same site; made_for, made_by, issue, status ("as designed", "as built", "as tested",
    "rehearsal"), date (ISO, that of the results when empty), mark (the line on top): printed as they are; site_file, whether the
    full edition carries the site file. What was proved on site, each the path of a JSON file: walk_plan, of `walk plan`; score,
    of `walk score`, which needs its plan; calibration, of `walk fit`; built, of `fencecast built`. status "" is "rehearsal" where
    nobody walked, which "as tested" may not stand for; else "as tested" with a score, "as built" for results of a site with
    [built], else "as designed".
    The page is all that is returned. What the command warns of in a client edition, `fencecast.report.client.tells_where` and
    `always_open` say of `Results`: that totals give the place away, and that a place is weak in every kind of weather, so that
    the edition should be handed out after it is mended.
    Raises UsageError for an option that is none, for results of another command, or for a comparison of another site; InputError,
    with every problem of all files, for one that is damaged or of another site.
    """
    ReportOptions(edition, made_for, made_by, issue, status or STATUSES[0], date, mark, site_file)  # refused before any work
    opened = open_results(results) if isinstance(results, (str, PathLike)) else results
    _refuse_other_kind(opened, "run", "results")
    found = Results.of(opened)
    other = None if compare is None else _comparison(compare, found)
    proof = read_proof(found.site, str(found.attrs["site_sha256"]), walk_plan, score, calibration, built)
    files = (("Walk plan", walk_plan), ("Score of the walks", score), ("Calibration", calibration), ("Cameras as built", built))
    hashes = tuple((what, _file_sha256(path)) for what, path in files if path is not None)
    said = _status(proof, found)
    if said == STATUSES[3] and status == STATUSES[2]:
        raise UsageError('status "as tested": the walks are of a rehearsal, and nobody walked them; leave the status out')
    status = status or said
    options = ReportOptions(edition, made_for, made_by, issue, status, date, mark, site_file)
    source = Source(found, options, other, _file_sha256(results), _file_sha256(compare), proof, hashes)
    return render(full_facts(source), script_text()) if edition == "full" else render(client_facts(source))


def _status(proof: Proof, results: Results) -> str:
    """What the files say of the site, when the sender says nothing."""
    designed, built, tested, rehearsal = STATUSES
    if proof.rehearsal or rests_on_rehearsal(results.attrs):
        return rehearsal
    return tested if proof.score is not None else built if results.site.built is not None else designed


def _file_sha256(thing: object) -> str:
    """SHA-256 of a file by its path, hexadecimal; '' for anything else."""
    return hashlib.sha256(Path(thing).read_bytes()).hexdigest() if isinstance(thing, (str, PathLike)) else ""


def _comparison(compare: xr.Dataset | str | PathLike[str], results: Results) -> Results:
    opened = open_results(compare) if isinstance(compare, (str, PathLike)) else compare
    _refuse_other_kind(opened, "compare", "compare")
    other = Results.of(opened)
    if other.attrs.get("site_sha256") != results.attrs["site_sha256"]:
        raise UsageError("compare is of another site file than the results: run compare on the same site file")
    return other


def _refuse_other_kind(opened: Results | xr.Dataset, wanted: str, argument: str) -> None:
    """UsageError for results of another command than the one that is wanted; what no command wrote is for `Results` to refuse."""
    marks = {"study_toml": "study", "tradeoff_schema": "tradeoff"}
    made_by = next((command for mark, command in marks.items() if mark in opened.attrs), "run")
    made_by = "compare" if "variant" in opened.sizes else made_by
    if made_by != wanted:
        raise UsageError(f"{argument}: these are results of `fencecast {made_by}`; give those of `fencecast {wanted}`")
