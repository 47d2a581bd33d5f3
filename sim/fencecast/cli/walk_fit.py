"""`fencecast walk fit`: N50 and the encounter correlation from logged walks, and the site file with them."""

from __future__ import annotations

import json
from pathlib import Path

import click

from fencecast.cli.output import plain, say_blocks, say_json

CALIBRATION, PICTURE = "calibration.json", "calibration.png"


@click.command(short_help="N50 and correlation from the walks, with what they cannot tell; writes the calibrated site.")
@click.argument("plan", metavar="PLAN.json")
@click.argument("logs", metavar="LOG.csv...", nargs=-1, required=True)
@click.option("--walkers", required=True, metavar="W.csv", help="Who walked, with statures.")
@click.option("--site", metavar="SITE.toml", help="The site as built, for the plan's: same fences and rules, other poses.")
@click.option("--prior-median", type=float, metavar="X", help="N50 that is assumed before the walks.  [default: the plan's]")
@click.option(
    "--prior-spread", type=float, metavar="S", help="Standard deviation of its logarithm before the walks.  [default: the plan's]"
)
@click.option(
    "--nuisance-per-hour", type=float, default=0.0, show_default=True, metavar="X",
    help="Alarms of one camera an hour that nobody caused: some fall into a walk.",
)  # fmt: skip
@click.option("-o", "--output", metavar="DIR", help="Folder for the files.  [default: STEM-fit where you stand]")
@click.option("--force", is_flag=True, help="Use a folder that exists; only files that fencecast wrote there are replaced.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of sentences.")
def fit(plan, logs, walkers, site, prior_median, prior_spread, nuisance_per_hour, output, force, as_json) -> None:
    """Fit N50 and the encounter correlation to one log or several of a plan.

    Writes calibration.json, STEM-calibrated.toml and calibration.png. `fencecast run` on the calibrated file takes what is left
    uncertain into every interval.
    """
    import fencecast as fc
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.findings.walkfit import fit_blocks, fit_object

    stem = stem_of(plan, site)
    toml = f"{stem}-calibrated.toml"
    target = output or f"{stem}-fit"
    folder = OutputFolder(target, [CALIBRATION, toml, PICTURE], replace=force)
    with folder as staging:
        with Progress() as progress:
            progress.stage("Getting ready (compiles once, a minute or two)")
            found = fc.walk_fit(
                plan, logs, walkers, site, prior_median, prior_spread, nuisance_per_hour, progress=progress
            )  # fmt: skip
            progress.stage("Drawing")
            from fencecast.show.paper.page import save_picture

            save_picture(fc.plot_calibration(found), staging / PICTURE)
        (staging / toml).write_text(fc.calibrated_text(found, target), encoding="utf-8")
        text = json.dumps(plain(fit_object(found)), ensure_ascii=False, allow_nan=False)
        (staging / CALIBRATION).write_text(text + "\n", encoding="utf-8")
    if as_json:
        folder.warn_left()
        say_json(fit_object(found, folder.files))
    else:
        say_blocks(fit_blocks(found, folder.files, folder.left))


def stem_of(plan: str, site: str | None) -> str:
    """What files are called: the site file's name, else that of the plan's folder without `-walks`."""
    if site is not None:
        return Path(site).stem
    return Path(plan).resolve().parent.name.removesuffix("-walks") or "site"
