"""`fencecast place`: propose cameras, and say what they cost, what they bring, and what no other choice could beat."""

from __future__ import annotations

import csv
from dataclasses import asdict
from pathlib import Path

import click

from fencecast.cli.output import say_blocks, say_json, warn
from fencecast.cli.sitefile import seen_from
from fencecast.spreadsheet import cell_of

FRONT, BILL, PICTURE = "front.csv", "bill.csv", "front.png"
_MOST_ROWS = 1000


@click.command(short_help="Propose cameras: the cheapest additions, re-aimings, or a layout from scratch.")
@click.argument("site", metavar="SITE.toml")
@click.option("--cameras", type=int, metavar="N", help="At most N new cameras.")
@click.option("--budget", type=float, metavar="B", help="At most so much money, in the prices of the site file.")
@click.option("--until-met", is_flag=True, help="As little as brings every metre to the requirement.  [default without a limit]")
@click.option(
    "--goal",
    type=click.Choice(["meets", "mean"]),
    default="meets",
    show_default=True,
    help="With a limit: how near every metre is to the requirement, or the mean Pd over fence and year.",
)
@click.option("--keep", is_flag=True, help="Leave existing cameras as they are; only add.")
@click.option("--from-scratch", is_flag=True, help="Leave existing cameras out.")
@click.option(
    "--ceiling",
    type=float,
    metavar="X",
    help="At most X nuisance alarms a night, by the sum over the cameras.  [default: the requirement's, if any]",
)
@click.option(
    "--candidates", type=int, default=200, show_default=True, metavar="N", help="Most cameras simulated to choose from."
)
@click.option(
    "--crossings",
    type=int,
    default=64,
    show_default=True,
    metavar="N",
    help="Crossings of a segment in a weather class, in the search.",
)
@click.option("--seed", type=int, metavar="N", help="Instead of the seed in the file.")
@click.option("--precision", type=float, default=0.02, show_default=True, metavar="P", help="Half width of Pd in the last run.")
@click.option("--weather", multiple=True, metavar="NAME", help="Only this weather class; may be repeated.")
@click.option("--threads", type=int, metavar="N", help="Threads; the results are the same with any number.  [default: all]")
@click.option("-o", "--output", metavar="DIR", help="Folder.  [default: STEM-placed where you stand]")
@click.option("--force", is_flag=True, help="Use a folder that exists; only files that fencecast wrote there are replaced.")
@click.option("--no-pictures", is_flag=True, help="No picture of the front.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def place(
    site, cameras, budget, until_met, goal, keep, from_scratch, ceiling, candidates, crossings, seed, precision, weather,
    threads, output, force, no_pictures, as_json,
) -> None:  # fmt: skip
    """Propose cameras for SITE.toml from its [[mounting]] tables, its [kit] and its prices.

    Candidates are simulated once on shared crossings and searched; the proposal is then run again on crossings that the search
    never saw. Writes the proposal as a site file, and the cost-performance front: cost against the weakest
    metre.
    """
    import fencecast as fc
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.decide.place.ceiling import check_ceiling
    from fencecast.decide.place.proposal import check_limits
    from fencecast.decide.place.proposal import place as propose
    from fencecast.findings.frontwords import row_file
    from fencecast.findings.place import file_comments, place_blocks, place_object, with_own_run
    from fencecast.findings.sitewarnings import site_warnings
    from fencecast.job import DEFAULT_MAX_CROSSINGS, check_numbers
    from fencecast.site import site_to_toml

    check_limits(cameras, budget, keep, from_scratch, candidates, crossings)
    check_numbers(precision, DEFAULT_MAX_CROSSINGS, threads, seed)
    loaded = fc.load_site(site)
    check_ceiling(loaded, ceiling)
    folder = OutputFolder(
        f"{Path(site).stem}-placed" if output is None else output,
        [*(row_file(k, _MOST_ROWS) for k in range(_MOST_ROWS)), FRONT, BILL, *([] if no_pictures else [PICTURE])],
        replace=force,
    )
    with folder as staging:
        for text in site_warnings(loaded):
            warn(text)
        with Progress() as progress:
            progress.stage("Getting ready (compiles once, half a minute)")
            proposal = propose(
                loaded,
                cameras=cameras,
                budget=budget,
                until_met=until_met,
                goal=goal,
                keep=keep,
                from_scratch=from_scratch,
                ceiling=ceiling,
                weather=weather,
                seed=seed,
                precision=precision,
                candidates=candidates,
                crossings=crossings,
                threads=threads,
                progress=progress,
            )
            proposal = with_own_run(proposal)
            count = len(proposal.rows)
            for k, row in enumerate(proposal.rows):
                text = file_comments(loaded, proposal, k) + site_to_toml(seen_from(row.site, folder.path))
                (staging / row_file(k, count)).write_text(text, encoding="utf-8", newline="\n")
            _write_bills(staging / BILL, proposal)
            _write_front(staging / FRONT, proposal)
            if not no_pictures:
                from fencecast.show.paper.page import save_picture
                from fencecast.show.study.costfront import plot_cost_front

                progress.stage("Drawing")
                save_picture(plot_cost_front(proposal.steps, proposal.results.attrs, proposal.kit.unit), staging / PICTURE)
    folder.warn_left()
    if as_json:
        say_json(place_object(proposal, folder.files))
    else:
        say_blocks(place_blocks(loaded, proposal, folder.files))


def _write_front(path: Path, proposal) -> None:
    from fencecast.findings.frontwords import row_file

    with path.open("w", encoding="utf-8", newline="") as file:
        count = len(proposal.steps)
        rows = []
        for k, step in enumerate(proposal.steps):
            words = {"place": cell_of(step.place), "weather": cell_of(step.weather)}
            rows.append({**asdict(step), **words, "site_file": cell_of(row_file(k, count))})
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def _write_bills(path: Path, proposal) -> None:
    """The bills of all rows of the front, one item a line."""
    from fencecast.findings.frontwords import row_file

    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["site_file", "kind", "item", "number", "each", "price"])
        for k, row in enumerate(proposal.rows):
            name = row_file(k, len(proposal.rows))
            writer.writerows([name, item.kind, cell_of(item.name), item.count, item.each, item.total] for item in row.bill)
