"""`fencecast bill`: quantities, the user's prices, and what a metre that meets costs."""

from __future__ import annotations

import csv
import os
from pathlib import Path

import click

from fencecast.cli.output import say, say_blocks, say_json
from fencecast.errors import UsageError


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
    from fencecast.findings.bill import bill_blocks, bill_object

    path = _free(output, force) if output is not None else None
    bills = fc.bill(site, results, date)
    if path is not None:
        _write(path, bills)
    if as_json:
        say_json(bill_object(bills, [str(path)] if path else []))
    else:
        say_blocks(bill_blocks(bills))
        if path is not None:
            say(f"\nWritten  {path}")


def _free(output: str, force: bool) -> Path:
    """The path to write; UsageError when it is taken or cannot be one."""
    path = Path(output)
    if path.suffix.lower() != ".csv":
        raise UsageError(f"{path}: the bill's name ends in .csv; type for instance -o {path.stem or 'bill'}.csv")
    if path.is_dir() or not path.parent.is_dir():
        what = "is a folder; name a file" if path.is_dir() else "cannot be written: its folder does not exist; make it first"
        raise UsageError(f"{path} {what}")
    if os.path.lexists(path) and not force:
        raise UsageError(f"{path} exists already; type --force to replace it, or choose another name with -o")
    return path


def _write(path: Path, bills) -> None:
    from fencecast.cli.folder import whole_file
    from fencecast.findings.bill import CSV_COLUMNS, csv_rows

    with whole_file(path) as part, part.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(CSV_COLUMNS)
        writer.writerows(csv_rows(bills))
