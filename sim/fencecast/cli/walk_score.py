"""`fencecast walk score`: a log of walks against its plan."""

from __future__ import annotations

import json
from pathlib import Path

import click

from fencecast.cli.ending import NOT_MET
from fencecast.cli.output import plain, say_blocks, say_json, warn

FILES = ("score.json", "predicted-observed.png", "claims.png")


@click.command(short_help="What walks show of the requirement, and whether they agree with the prediction.")
@click.argument("plan", metavar="PLAN.json")
@click.argument("log", metavar="LOG.csv")
@click.option("--walkers", metavar="W.csv", help="Who walked; then every walker of the log must be in it.")
@click.option("--latest", type=float, metavar="S", help="The longest delay of the system that is allowed [seconds].")
@click.option("--site", metavar="SITE.toml", help="The plan's site file, where its weather record lies beside that only.")
@click.option("--quick", is_flag=True, help="Simulate nothing: what the prediction itself allowed stays open.")
@click.option("-o", "--output", metavar="DIR", help="Folder for score.json and pictures.  [default: nothing is written]")
@click.option("--require", is_flag=True, help="Exit with 3 unless every claim is shown.")
@click.option("--force", is_flag=True, help="Use a folder that exists; only files that fencecast wrote there are replaced.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def score(plan, log, walkers, latest, site, quick, output, require, force, as_json) -> None:
    """Score the log of a walk test against the plan that was made before it.

    The prediction is the plan's, never one that is made afterwards.
    """
    import fencecast as fc
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.findings.walkscore import next_after_score, score_blocks, score_object

    with Progress() as progress:
        if not quick:
            progress.stage("Getting ready (compiles once, a minute or two)")
        found = fc.walk_score(plan, log, walkers, latest, quick, site, progress=progress)
    files, left = [], []
    if output:
        from fencecast.show.paper.page import save_picture

        names = [name for name in FILES if {FILES[1]: found.prediction, FILES[2]: found.claims}.get(name, True)]
        folder = OutputFolder(output, names, replace=force)
        with folder as staging:
            text = json.dumps(plain(score_object(found)), indent=1, ensure_ascii=False, allow_nan=False)
            (staging / FILES[0]).write_text(text + "\n", encoding="utf-8")
            if found.prediction:
                save_picture(fc.plot_predicted_observed(found), staging / FILES[1])
            if found.claims:
                save_picture(fc.plot_claims(found), staging / FILES[2])
        files, left = folder.files, folder.left
    if as_json:
        for name in left:
            warn(f"{Path(output) / name} changed since fencecast wrote it: left as it is")
        say_json(score_object(found, files))
    else:
        say_blocks(score_blocks(found, files, left, next_after_score(found, plan, log, walkers)))
    if require and not found.shown:
        raise click.exceptions.Exit(NOT_MET)
