"""`fencecast tradeoff`: what settings cost on both sides, metres at the requirement and alarms a night."""

from __future__ import annotations

from pathlib import Path

import click

from fencecast.cli.output import say_blocks, say_json, warn

RESULTS, PICTURE = "tradeoff.nc", "tradeoff.png"


@click.command(short_help="What settings cost: metres at the requirement against alarms a night.")
@click.argument("site", metavar="SITE.toml")
@click.option("--threshold", metavar="A,B,..", help="Values of threshold_sigma to try, such as 4,6,8.")
@click.option("--n50", metavar="A,B,..", help="Values of cycles_50 to try, such as 1.5,3.")
@click.option("--confirm", metavar="M/N,..", help="Confirmations to try, m hits of n looks, such as 2/3,5/8.")
@click.option("--least-size", metavar="A,B,..", help="Least sizes to try, shares of a person's, such as 0.45,0.6; 0 is off.")
@click.option("--dwell", metavar="A,B,..", help="Dwell times of the area rules to try, in seconds.")
@click.option("--offset", metavar="A,B,..", help="Metres by which to move all lines further in, such as 1,3.")
@click.option("-o", "--output", metavar="DIR", help="Results folder.  [default: STEM-tradeoff where you stand]")
@click.option("--force", is_flag=True, help="Use a folder that exists; only files that fencecast wrote there are replaced.")
@click.option("--seed", type=int, metavar="N", help="Instead of the seed in the file.")
@click.option(
    "--crossings",
    type=int,
    default=128,
    show_default=True,
    metavar="N",
    help="Crossings of every segment in every weather class, the same ones for every setting.",
)
@click.option("--weather", multiple=True, metavar="NAME", help="Only this weather class; may be repeated.")
@click.option("--threads", type=int, metavar="N", help="Threads; the results are the same with any number.  [default: all]")
@click.option("--no-pictures", is_flag=True, help="Only tradeoff.nc.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
@click.pass_context
def tradeoff(
    ctx, site, threshold, n50, confirm, least_size, dwell, offset, output, force, seed, crossings, weather, threads, no_pictures,
    as_json,
) -> None:  # fmt: skip
    """Change one setting of SITE.toml at a time: how many metres meet, and how many nuisance alarms a night.

    All settings meet the same crossings and the same animals, insects and passers-by ([[stimulus]]). Without an option about 20
    settings are tried; with some, those alone. Writes tradeoff.nc and tradeoff.png into a folder, and names settings that cost
    more than they bring.
    """
    import fencecast as fc
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.decide.tradeoff.run import asked_settings, check_crossings
    from fencecast.estimate.options import DEFAULT_PRECISION, check_numbers
    from fencecast.estimate.results import Results
    from fencecast.estimate.store import save_results
    from fencecast.findings.sitewarnings import site_warnings
    from fencecast.findings.tradeoff import tradeoff_blocks, tradeoff_object
    from fencecast.findings.tradewords import NO_PICTURE
    from fencecast.job import DEFAULT_MAX_CROSSINGS, chosen_hours, chosen_weather
    from fencecast.meteorology.load import classes_of
    from fencecast.show.write import pictures_of, write_pictures

    loaded = fc.load_site(site)
    check_crossings(crossings)
    check_numbers(DEFAULT_PRECISION, DEFAULT_MAX_CROSSINGS, threads, seed)
    asked = {
        "threshold": threshold,
        "n50": n50,
        "confirm": confirm,
        "least_size": least_size,
        "dwell_s": dwell,
        "offset_m": offset,
    }
    asked_settings(loaded, **asked)
    year = chosen_hours(loaded)
    chosen_weather(loaded, weather, classes_of(loaded, year))
    place = f"{Path(site).stem}-tradeoff" if output is None else output
    folder = OutputFolder(place, [RESULTS, *([] if no_pictures else [PICTURE])], replace=force)
    with folder as staging:
        for text in site_warnings(loaded):
            warn(text)
        with Progress() as progress:
            progress.stage("Getting ready (compiles once, half a minute)")
            results = fc.tradeoff(
                loaded,
                **asked,
                seed=seed,
                crossings=crossings,
                weather=weather,
                threads=threads,
                progress=progress,
                command=ctx.find_root().obj or "",
                year=year,
            )
            save_results(results, staging / RESULTS)
            if not no_pictures and pictures_of(results):
                progress.stage("Drawing")
                write_pictures(results, staging)
        if not no_pictures and not pictures_of(results):
            warn(NO_PICTURE)
    found = Results.of(results)
    if as_json:
        folder.warn_left()
        say_json(tradeoff_object(found, folder.files))
    else:
        say_blocks(tradeoff_blocks(found, folder.files, folder.left))
