"""`fencecast walk next`: where the next few walks say most."""

from __future__ import annotations

import click

from fencecast.cli.output import say_blocks, say_json


@click.command("next", short_help="Where the next few walks say most of N50, by what is logged already.")
@click.argument("plan", metavar="PLAN.json")
@click.argument("logs", metavar="LOG.csv...", nargs=-1, required=True)
@click.option("--walks", type=int, default=4, show_default=True, metavar="N", help="How many walks, 1 to 48.")
@click.option("--walkers", metavar="W.csv", help="Who walked, with statures.  [default: statures as the site has them]")
@click.option("--site", metavar="SITE.toml", help="The site as built, for the plan's: same fences and rules, other poses.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def next_walks(plan, logs, walks, walkers, site, as_json) -> None:
    """Places and gaits of the plan at which the next walks say most of N50 and the correlation.

    Nobody knows beforehand where cameras begin to miss; asking anew after every four walks finds it.
    """
    import fencecast as fc
    from fencecast.cli.progress import Progress
    from fencecast.findings.walknext import next_blocks, next_object

    with Progress() as progress:
        progress.stage("Getting ready (compiles once, a minute or two)")
        found = fc.walk_next(plan, logs, walks, walkers, site, progress=progress)
    if as_json:
        say_json(next_object(found))
    else:
        say_blocks(next_blocks(found))
