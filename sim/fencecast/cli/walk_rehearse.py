"""`fencecast walk rehearse`: a simulated log of a walk plan, to try `score` and `fit` before the evening."""

from __future__ import annotations

import click

from fencecast.cli.onefile import free_file, write_files
from fencecast.cli.output import say, say_json


@click.command(short_help="A simulated log of the plan, to try score and fit before the evening.")
@click.argument("plan", metavar="PLAN.json")
@click.option("--cycles-50", type=float, metavar="N50", help="N50 of the rehearsal [cycles].  [default: the plan's]")
@click.option("--correlation", type=float, default=0.5, show_default=True, metavar="R", help="Correlation of cameras, 0 to 0.9.")
@click.option("--place-spread", type=float, default=0.0, show_default=True, metavar="SD", help="Of ln N50 between places.")
@click.option("--seed", type=int, default=1, show_default=True, metavar="N", help="Another seed, another evening.")
@click.option("--site", metavar="SITE.toml", help="The plan's site file, where its weather record lies beside that only.")
@click.option("-o", "--output", default="rehearsal.csv", show_default=True, metavar="LOG.csv", help="The log to write.")
@click.option("--force", is_flag=True, help="Replace the files when they exist.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of text.")
def rehearse(plan, cycles_50, correlation, place_spread, seed, site, output, force, as_json) -> None:
    """Write a log as the plan's walks might fill it if N50 and the correlation were those, and a list of its walkers beside it.

    Nobody walked it: every row says so, and score and fit warn of it.
    """
    import fencecast as fc

    target = free_file(output, ".csv", force, "the log's name", "rehearsal")
    beside = free_file(target.with_name(f"{target.stem}-walkers.csv"), ".csv", force, "the list's name")
    found = fc.walk_rehearse(plan, cycles_50, correlation, place_spread, seed, site)
    write_files({target: found.log.encode(), beside: found.walkers.encode()})
    files = [str(target), str(beside)]
    if as_json:
        say_json({"walks": found.walks, "cycles_50": found.cycles_50, "correlation": correlation, "files": files})
    else:
        say(
            f"{found.walks} walks of a rehearsal with N50 {found.cycles_50:g} and correlation {correlation:g}, simulated: "
            f"nobody walked them. Written in {' and '.join(files)}."
        )
