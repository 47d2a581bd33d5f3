"""`fencecast report`: the page that a client takes home, from a results file; nothing is simulated."""

from __future__ import annotations

import hashlib
from pathlib import Path

import click

from fencecast.cli.output import say, say_json, warn
from fencecast.errors import UsageError

_TOLD = {"full": "It shows where, when and why the fence is weak.", "client": "It leaves out places, cameras and schedules."}


@click.command(short_help="Write the report of a results file as one HTML page.")
@click.argument("results", metavar="RESULTS.nc")
@click.option("-o", "--output", metavar="FILE.html", help="[default: TITLE-report-EDITION.html where you stand]")
@click.option(
    "--edition", default="full", show_default=True, metavar="full|client", help="client: no places, cameras or schedules."
)
@click.option("--compare", metavar="COMPARE.nc", help="Results of `compare` of the same site file.")
@click.option("--walk-plan", metavar="PLAN.json", help="The walk test as it was fixed, of `walk plan`.")
@click.option("--score", metavar="SCORE.json", help="What it showed, of `walk score -o`; needs --walk-plan.")
@click.option("--calibration", metavar="CALIBRATION.json", help="What the walks say of N50, of `walk fit -o`.")
@click.option("--built", metavar="BUILT.json", help="Cameras as built: what `built --json` printed.")
@click.option("--for", "made_for", default="", metavar="NAME", help="Whom the report is for.")
@click.option("--by", "made_by", default="", metavar="NAME", help="Who prepared it.")
@click.option("--issue", default="1", show_default=True, help="Of the document.")
@click.option(
    "--status",
    default="",
    metavar="as designed|as built|as tested|rehearsal",
    help="[default: what the files say, as tested with --score]",
)
@click.option("--date", default="", metavar="YEAR-MONTH-DAY", help="[default: that of the results]")
@click.option("--mark", default="", metavar="TEXT", help="The line on top of every page.")
@click.option("--no-site-file", is_flag=True, help="The full edition without the site file in it.")
@click.option("--pdf", is_flag=True, help="Also FILE.pdf, printed by an installed browser of the Chromium family.")
@click.option("--browser", default="", metavar="PATH", help="The browser that prints.  [default: the first one installed]")
@click.option("--force", is_flag=True, help="Replace files that exist.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of text.")
def report(
    results,
    output,
    edition,
    compare,
    made_for,
    made_by,
    issue,
    status,
    date,
    mark,
    no_site_file,
    pdf,
    browser,
    force,
    as_json,
    **proof,
) -> None:
    """Write what a client takes home: the verdict first, then where, when and why, what would change it, what is assumed.

    With the files of a walk test and of cameras as built it also says what was proved on site.
    The full edition is for the reader named on it; --edition client leaves out places, cameras and schedules.
    """
    from fencecast.cli.onefile import free_file, results_stem, write_files
    from fencecast.cli.progress import Progress
    from fencecast.estimate.results import Results
    from fencecast.estimate.store import open_results
    from fencecast.report.browser import find_browser, print_page
    from fencecast.report.client import always_open, tells_where
    from fencecast.report.making import report as make

    if browser and not pdf:
        raise UsageError(f"--browser {browser} prints nothing without --pdf; type both, or neither")
    target = free_file(output or f"{results_stem(results)}-report-{edition.upper()}.html", ".html", force)
    beside = target.with_suffix(".pdf")
    if pdf:
        free_file(beside, ".pdf", force)
    program = find_browser(browser) if pdf else ""
    found = Results.of(open_results(results))
    page = make(
        results,
        edition,
        compare,
        made_for=made_for,
        made_by=made_by,
        issue=issue,
        status=status,
        date=date,
        mark=mark,
        site_file=not no_site_file,
        **proof,
    )
    for text in (tells_where(found), always_open(found)) if edition == "client" else ():
        if text:
            warn(text)
    contents, pages = {target: page.encode()}, 0
    if pdf:
        with Progress() as progress:
            progress.stage("Printing")
            printed = print_page(page, program, str(found.attrs["created"]))
        contents[beside], pages = printed.content, printed.pages
    elif beside.exists():
        warn(f"{beside} is not of this report: it was there before; type --pdf --force to print this one")
    write_files(contents)
    if as_json:
        say_json(_object(contents, edition, pages, found))
    else:
        say(*(line for path, content in contents.items() for line in _lines(path, content, pages)), _TOLD[edition])


def _lines(path: Path, content: bytes, pages: int) -> list[str]:
    size = f"{len(content) / 1000:,.0f} kB" + (f", {pages} pages" if path.suffix == ".pdf" else "")
    return [f"Written: {path}, {size}", f"SHA-256: {hashlib.sha256(content).hexdigest()}"]


def _object(contents: dict[Path, bytes], edition: str, pages: int, results) -> dict:
    """The object of --json: the page, the printed file when there is one, and whether the requirement is met."""
    from fencecast.findings.limits import limits_object
    from fencecast.findings.runfacts import requirement_met

    (page, *printed) = [
        {"file": str(path), "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
        for path, content in contents.items()
    ]
    more = {"pdf": printed[0], "pages": pages} if printed else {}
    return {**page, "edition": edition, "met": requirement_met(results), **more, **limits_object(results.attrs)}
