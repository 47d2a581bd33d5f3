"""`fencecast walk plan`: which walks to walk, in which order, with what chance of passing; cards and a log to fill in."""

from __future__ import annotations

from pathlib import Path

import click

from fencecast.cli.output import say_blocks, say_json, warn

PLAN, LOG, WALKERS, CARDS, CHANCE, MAP = "plan.json", "log.csv", "walkers.csv", "cards.pdf", "chance.png", "walk-plan.png"


@click.command(short_help="Plan a walk test: places, walks, their chance of passing; cards and a log to fill in.")
@click.argument("site", metavar="SITE.toml")
@click.option("-o", "--output", metavar="DIR", help="Folder for the files.  [default: STEM-walks where you stand]")
@click.option(
    "--goal", default="both", show_default=True, metavar="both|accept|calibrate",
    help="Learn N50 and claim with the rest of the time; only claim; only learn.",
)  # fmt: skip
@click.option("--weather", metavar="NAME", help="Weather class of the test.  [default: the dry one in which the site does best]")
@click.option("--minutes", type=float, default=120.0, show_default=True, metavar="M", help="Time that there is for the walks.")
@click.option("--walks", type=int, metavar="N", help="That many walks, however long they take.")
@click.option("--gait", "gaits", multiple=True, metavar="GAIT", help="May be repeated.  [default: walk and crouch]")
@click.option(
    "--full", type=int, metavar="N",
    help="Weak places with a claim of their own.  [default: up to 3 of those whose claim may pass]",
)  # fmt: skip
@click.option(
    "--misses", type=int, default=2, show_default=True, metavar="K", help="Misses that a claim's longest ladder allows."
)
@click.option("--place", "places", multiple=True, metavar="'SECTION 14'", help="A place that must be walked; may be repeated.")
@click.option("--from-fence", is_flag=True, help="Walks start at the fence's inside foot, also where it is open.")
@click.option("--seed", type=int, metavar="N", help="Of the order of the walks.  [default: the site's]")
@click.option("--together", is_flag=True, help="The confidence is that of all claims at once, not of each by itself.")
@click.option("--issue", default="1", show_default=True, metavar="TEXT", help="Number of the issue, as it stands on the cards.")
@click.option("--force", is_flag=True, help="Use a folder that exists; only files that fencecast wrote there are replaced.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def plan(
    site, output, goal, weather, minutes, walks, gaits, full, misses, places, from_fence, seed, together, issue, force, as_json
) -> None:
    """Write plan.json, log.csv, walkers.csv, cards.pdf, chance.png and walk-plan.png: a walk test as it is fixed beforehand.

    The prediction is written into plan.json before anybody walks; what was walked is compared with that.
    """
    import fencecast as fc
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.findings.sitewarnings import site_warnings
    from fencecast.findings.walkplan import plan_blocks, plan_object
    from fencecast.prove.aim import check_word
    from fencecast.prove.walks.planfile import write_plan
    from fencecast.prove.walks.tables import log_file, walkers_file

    loaded = fc.load_site(site)
    check_word("the issue", issue, 1)
    folder = OutputFolder(output or f"{Path(site).stem}-walks", [PLAN, LOG, WALKERS, CARDS, CHANCE, MAP], replace=force)
    with folder as staging:
        for text in site_warnings(loaded):
            warn(text)
        with Progress() as progress:
            progress.stage("Getting ready (compiles once, a minute or two)")
            made = fc.walk_plan(
                loaded, goal, weather, minutes, walks, gaits, full, misses, places, from_fence, seed, together, progress=progress
            )
            progress.stage("Drawing")
            from fencecast.show.cards.deck import plot_cards
            from fencecast.show.paper.page import save_pages, save_picture
            from fencecast.show.walk.chance import plot_walk_chance
            from fencecast.show.walk.walkplan import plot_walk_plan

            save_pages(plot_cards(made, loaded, issue.strip()), staging / CARDS)
            save_picture(plot_walk_chance(made), staging / CHANCE)
            save_picture(plot_walk_plan(made), staging / MAP)
        (staging / PLAN).write_text(write_plan(made), encoding="utf-8")
        (staging / LOG).write_bytes(log_file(made))
        (staging / WALKERS).write_bytes(walkers_file())
    if as_json:
        folder.warn_left()
        say_json(plan_object(made, folder.files))
    else:
        say_blocks(plan_blocks(made, folder.files, folder.left))
