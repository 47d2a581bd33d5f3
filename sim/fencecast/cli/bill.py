"""`fencecast bill`: quantities, the user's prices, and what a metre that meets costs."""

from __future__ import annotations

import csv
import io

import click

from fencecast.cli.output import say, say_blocks, say_json


@click.command(short_help="Count cameras, masts and work at your prices; designs side by side.")
@click.argument("site", metavar="SITE.toml")
@click.option(
    "--results",
    metavar="PATH",
    help="What run or compare wrote of this site (RESULTS.nc), or the folder of place: adds what a metre that meets costs.",
)
@click.option("--date", metavar="YYYY-MM-DD", help="The day on which the age of the prices is asked.  [default: today]")
@click.option("-o", "--output", metavar="FILE.csv", help="Write the lines of all designs as well.")
@click.option("--force", is_flag=True, help="Replace FILE.csv when it exists.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def bill(site, results, date, output, force, as_json) -> None:
    """The bill of materials of SITE.toml and of its [[variant]] tables, or of the designs that --results holds.

    Prices are those of the site file; none is built in. What has no price is named and never counted as zero. Nothing is
    simulated.
    """
    import fencecast as fc
    from fencecast.cli.onefile import free_file, write_file
    from fencecast.findings.bill import bill_blocks, bill_object

    path = free_file(output, ".csv", force, "the bill's name", "bill") if output is not None else None
    bills = fc.bill(site, results, date)
    if path is not None:
        write_file(path, _csv_text(bills))
    if as_json:
        say_json(bill_object(bills, [str(path)] if path else []))
    else:
        say_blocks(bill_blocks(bills))
        if path is not None:
            say(f"\nWritten  {path}")


def _csv_text(bills) -> str:
    from fencecast.findings.bill import CSV_COLUMNS, csv_rows

    out = io.StringIO(newline="")
    csv.writer(out).writerows([CSV_COLUMNS, *csv_rows(bills)])
    return out.getvalue()
