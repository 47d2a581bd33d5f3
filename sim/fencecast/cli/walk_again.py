"""`fencecast walk again`: the short list of a re-test, and whether logs of several dates have moved."""

from __future__ import annotations

import json

import click

from fencecast.cli.output import plain, say_blocks, say_json

AGAIN, PICTURE = "again.json", "again.png"


@click.command(short_help="A short list for a re-test; with logs of several dates: has N50 moved?")
@click.argument("plan", metavar="PLAN.json")
@click.argument("logs", metavar="LOG.csv...", nargs=-1, required=True)
@click.option(
    "--changed", multiple=True, metavar="WHAT", help='What was changed since, such as "camera C3"; may be repeated.'
)  # fmt: skip
@click.option("--walkers", metavar="W.csv", help="Who walked, with statures.  [default: statures as the site has them]")
@click.option("--site", metavar="SITE.toml", help="The site as built, for the plan's: same fences and rules, other poses.")
@click.option("-o", "--output", metavar="DIR", help="Folder for again.json and again.png.  [default: nothing is written]")
@click.option("--force", is_flag=True, help="Use a folder that exists; only files that fencecast wrote there are replaced.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def again(plan, logs, changed, walkers, site, output, force, as_json) -> None:
    """The walks that would notice a change of N50, the weak places, and what was changed.

    With logs of several dates: the last ones against all earlier ones, and what the re-test cannot see.
    """
    import fencecast as fc
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.findings.walknext import again_blocks, again_object

    def made():
        with Progress() as progress:
            progress.stage("Getting ready (compiles once, a minute or two)")
            return fc.walk_again(plan, logs, changed, walkers, site, progress=progress)

    files, left = [], []
    if output is None:
        found = made()
    else:
        from fencecast.show.paper.page import save_picture

        folder = OutputFolder(output, [AGAIN, PICTURE], replace=force)
        with folder as staging:
            found = made()
            text = json.dumps(plain(again_object(found)), indent=1, ensure_ascii=False, allow_nan=False)
            (staging / AGAIN).write_text(text + "\n", encoding="utf-8")
            save_picture(fc.plot_again(found), staging / PICTURE)
        files, left = folder.files, folder.left
        if as_json:
            folder.warn_left()
    if as_json:
        say_json(again_object(found, files))
    else:
        say_blocks(again_blocks(found, files, left))
