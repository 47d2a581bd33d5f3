"""`fencecast compare`: designs against a base on the same crossings, a results folder and tables out."""

from __future__ import annotations

from pathlib import Path

import click

from fencecast.cli.output import say_blocks, say_json, warn

RESULTS = "compare.nc"


@click.command(short_help="Compare lenses, layouts or variants on the same crossings.")
@click.argument("sites", metavar="SITE.toml [SITE2.toml]...", nargs=-1, required=True)
@click.option("--lens", "lenses", multiple=True, metavar="NAME", help="A lens to compare; repeat it. The first is the base.")
@click.option("--camera", "cameras", multiple=True, metavar="MARK", help="Swap lenses on this camera only; may be repeated.")
@click.option("-o", "--output", metavar="DIR", help="Results folder.  [default: STEM-compare where you stand]")
@click.option("--force", is_flag=True, help="Use a folder that exists; only files that fencecast wrote there are replaced.")
@click.option("--seed", type=int, metavar="N", help="Instead of the seed in the file.")
@click.option(
    "--precision",
    type=float,
    default=0.01,
    show_default=True,
    metavar="P",
    help="Half width that the difference of Pd must reach for every segment in every weather class.",
)
@click.option("--max-crossings", type=int, metavar="N", help="Most crossings of a segment in a weather class.")
@click.option("--weather", multiple=True, metavar="NAME", help="Only this weather class; may be repeated.")
@click.option(
    "--margin", type=float, default=0.02, show_default=True, metavar="P", help="A difference of Pd too small to matter."
)
@click.option(
    "--nuisance-margin",
    type=float,
    default=0.10,
    show_default=True,
    metavar="SHARE",
    help="A change of nuisance alarms a night too small to matter, as a share; where every design names stimuli.",
)
@click.option("--threads", type=int, metavar="N", help="Threads; the results are the same with any number.  [default: all]")
@click.option("--no-pictures", is_flag=True, help="Only compare.nc.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
@click.pass_context
def compare(
    ctx, sites, lenses, cameras, output, force, seed, precision, max_crossings, weather, margin, nuisance_margin, threads,
    no_pictures, as_json,
) -> None:  # fmt: skip
    """Compare designs of one fence: every crossing meets all of them, so that only the designs differ.

    \b
    fencecast compare yard.toml --lens wide --lens long     each lens on every camera (or on --camera C1)
    fencecast compare before.toml after.toml                site files; the first is the base
    fencecast compare yard.toml                             the [[variant]] tables of the file against the file

    Writes compare.nc and pictures into a folder, and prints where which design is better, and which has fewer nuisance alarms
    when all name stimuli.
    """
    import fencecast as fc
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.decide.compare.designs import check_margin
    from fencecast.decide.compare.nightalarms import check_nuisance_margin
    from fencecast.decide.compare.variants import comparable, designs_asked
    from fencecast.estimate.results import Results
    from fencecast.estimate.store import save_results
    from fencecast.findings.compare import compare_blocks, compare_object
    from fencecast.findings.sitewarnings import site_warnings
    from fencecast.job import DEFAULT_MAX_CROSSINGS, check_numbers, chosen_hours, chosen_weather
    from fencecast.meteorology.load import classes_of
    from fencecast.show.write import comparison_pictures, write_pictures

    most = DEFAULT_MAX_CROSSINGS if max_crossings is None else max_crossings
    variants = comparable(designs_asked(sites, lenses, cameras))
    check_numbers(precision, most, threads, seed)
    check_margin(margin)
    check_nuisance_margin(nuisance_margin)
    year = chosen_hours(variants[0].site)
    chosen_weather(variants[0].site, weather, classes_of(variants[0].site, year))
    pictures = [name for names, *_ in comparison_pictures(len(variants) - 1) for name in names]
    place = f"{Path(sites[0]).stem}-compare" if output is None else output
    folder = OutputFolder(place, [RESULTS, *([] if no_pictures else pictures)], replace=force)
    with folder as staging:
        for text in dict.fromkeys(text for variant in variants for text in site_warnings(variant.site)):
            warn(text)
        with Progress() as progress:
            progress.stage("Getting ready (compiles once, half a minute)")
            results = fc.compare(
                variants,
                seed=seed,
                precision=precision,
                max_crossings=most,
                weather=weather,
                margin=margin,
                nuisance_margin=nuisance_margin,
                threads=threads,
                progress=progress,
                command=ctx.find_root().obj or "",
                year=year,
            )
            save_results(results, staging / RESULTS)
            if not no_pictures:
                progress.stage("Drawing")
                write_pictures(results, staging)
    found = Results.of(results)
    if as_json:
        folder.warn_left()
        say_json(compare_object(found, folder.files))
    else:
        say_blocks(compare_blocks(found, folder.files, folder.left))
