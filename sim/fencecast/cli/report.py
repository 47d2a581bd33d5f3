"""`fencecast report`: the page that a client takes home, from a results file; nothing is simulated."""

from __future__ import annotations

import click

from fencecast.cli.output import say


@click.command(short_help="Write the report of a results file as one HTML page.")
@click.argument("results", metavar="RESULTS.nc")
@click.option("-o", "--output", metavar="FILE.html", help="[default: TITLE-report-EDITION.html where you stand]")
@click.option("--edition", default="full", show_default=True, metavar="full|client", help="client: no places, cameras or times.")
@click.option("--compare", metavar="COMPARE.nc", help="Results of `compare` of the same site file.")
@click.option("--for", "made_for", default="", metavar="NAME", help="Whom the report is for.")
@click.option("--by", "made_by", default="", metavar="NAME", help="Who prepared it.")
@click.option("--issue", default="1", show_default=True, help="Of the document.")
@click.option("--status", default="as designed", show_default=True, metavar="as designed|as built|as tested")
@click.option("--date", default="", metavar="YEAR-MONTH-DAY", help="[default: that of the results]")
@click.option("--mark", default="", metavar="TEXT", help="The line on top of every page.")
@click.option("--no-site-file", is_flag=True, help="The full edition without the site file in it.")
@click.option("--force", is_flag=True, help="Replace a file that exists.")
def report(results, output, edition, compare, made_for, made_by, issue, status, date, mark, no_site_file, force) -> None:
    """Write what a client takes home: the verdict first, then where, when and why, what would change it, what is assumed."""
    import hashlib

    from fencecast.cli.onefile import free_file, results_stem, write_file
    from fencecast.report.making import report as make

    target = free_file(output or f"{results_stem(results)}-report-{edition.upper()}.html", ".html", force)
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
    )
    write_file(target, page)
    content = page.encode()
    size, digest = f"{len(content) / 1000:,.0f} kB", hashlib.sha256(content).hexdigest()
    told = "It shows where, when and why the fence is weak." if edition == "full" else "It leaves out places, cameras and times."
    say(f"Written: {target}, {size}, SHA-256 {digest}  {told}")
