"""`fencecast run`: a site file in, a results folder and tables out."""

from __future__ import annotations

import json
from pathlib import Path

import click

from fencecast.cli.ending import NOT_MET
from fencecast.cli.output import say_blocks, say_json, warn
from fencecast.cli.sitefile import seen_from
from fencecast.errors import UsageError

RESULTS = "results.nc"


class _Run(click.Command):
    """`--installations` may stand without its number, also before the site's name."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        from fencecast.estimate.installations import DEFAULT_INSTALLATIONS

        def bare(k: int) -> bool:
            return args[k] == "--installations" and not (k + 1 < len(args) and args[k + 1].lstrip("-+").isdigit())

        return super().parse_args(ctx, [f"{arg}={DEFAULT_INSTALLATIONS}" if bare(k) else arg for k, arg in enumerate(args)])


@click.command(cls=_Run, short_help="Simulate a site: how probable is an alarm, where, when and why not.")
@click.argument("site", metavar="SITE.toml")
@click.option("-o", "--output", metavar="DIR", help="Results folder.  [default: STEM-results where you stand]")
@click.option("--force", is_flag=True, help="Use a folder that exists; only files that fencecast wrote there are replaced.")
@click.option("--seed", type=int, metavar="N", help="Instead of the seed in the file.")
@click.option(
    "--precision",
    type=float,
    default=0.02,
    show_default=True,
    metavar="P",
    help="Half width of Pd that every segment must reach in every weather class.",
)
@click.option("--max-crossings", type=int, metavar="N", help="Most crossings of a segment in a weather class.")
@click.option("--weather", multiple=True, metavar="NAME", help="Only this weather class; may be repeated.")
@click.option(
    "--stress",
    default="",
    metavar="CONDITION",
    help='Only the hours of the weather file in which this holds, such as "visibility_m<=100 and wind_m_s<3".',
)
@click.option("--threads", type=int, metavar="N", help="Threads; the results are the same with any number.  [default: all]")
@click.option("--sensitivity", is_flag=True, help="Also which drawn inputs drive the weakest places: a table and a picture.")
@click.option(
    "--installations",
    type=int,
    metavar="[N]",
    help="Also how many of N yards as built (mounting errors, noise of units, spreads of [decision]) meet; 32 without a number.",
)
@click.option("--without", multiple=True, metavar="MARK", help="As if this camera had failed; may be repeated.")
@click.option(
    "--lose-each",
    type=click.Choice(["camera", "depends_on"]),
    help="Also what every single loss costs: each camera, or each thing that cameras depend on (post, switch, supply).",
)
@click.option(
    "--remedy", is_flag=True, help="When the requirement is not met: changes that mend it, free ones first, and SITE-remedy.toml."
)
@click.option("--no-pictures", is_flag=True, help="Only results.nc.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
@click.option(
    "--require",
    is_flag=True,
    help="Exit 3 unless every segment meets the requirement in every weather class, and every ceiling of nuisance alarms is met.",
)
@click.pass_context
def run(
    ctx,
    site,
    output,
    force,
    seed,
    precision,
    max_crossings,
    weather,
    stress,
    threads,
    sensitivity,
    installations,
    without,
    lose_each,
    remedy,
    no_pictures,
    as_json,
    require,
) -> None:
    """Simulate crossings of every metre of SITE.toml's perimeter in every weather class.

    Writes results.nc and pictures into a folder, and prints when, where and why the perimeter is weak.
    """
    import fencecast as fc
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.decide.remedyfacts import keep_remedy
    from fencecast.estimate.results import Results
    from fencecast.estimate.store import save_results
    from fencecast.findings.check import review_attrs, review_object
    from fencecast.findings.hours import hours_object
    from fencecast.findings.losses import loss_object
    from fencecast.findings.nuisance import ceilings_met
    from fencecast.findings.remedy import remedy_blocks, remedy_object, remedy_sentence
    from fencecast.findings.run import run_blocks
    from fencecast.findings.runfacts import requirement_met, run_object
    from fencecast.job import DEFAULT_MAX_CROSSINGS, check_numbers, chosen_hours, chosen_weather
    from fencecast.meteorology.load import classes_of, load_year
    from fencecast.site import site_to_toml

    _refuse_empty_stress(ctx, stress)
    loaded = fc.without_cameras(fc.load_site(site), without)
    most = DEFAULT_MAX_CROSSINGS if max_crossings is None else max_crossings
    check_numbers(precision, most, threads, seed)
    year = load_year(loaded) if loaded.weather_file is not None else None
    classes = len(chosen_weather(loaded, weather, classes_of(loaded, chosen_hours(loaded, stress, year))))
    place = f"{Path(site).stem}-results" if output is None else output
    pictures = [] if no_pictures else _picture_names(sensitivity, loaded, bool(lose_each))
    mended = f"{Path(site).stem}-remedy.toml"
    folder = OutputFolder(place, [RESULTS, *pictures, *([mended] if remedy else [])], replace=force)
    reviewed = fc.check(loaded, year=year)
    with folder as staging:
        _warn(loaded, classes, most, threads)
        with Progress() as progress:
            progress.stage("Getting ready (compiles once, half a minute)")
            results = fc.run(
                loaded,
                seed=seed,
                precision=precision,
                max_crossings=most,
                weather=weather,
                threads=threads,
                progress=progress,
                command=ctx.find_root().obj or "",
                sensitivity=sensitivity,
                installations=installations,
                stress=stress,
                year=year,
            )
            results.attrs["without"] = ", ".join(without)
            results.attrs |= review_attrs(reviewed, site)
            if lose_each:
                results = fc.lose_each(results, lose_each, most, threads, progress, loaded, year)
            found = Results(results, loaded)
            remedied = remedy and not requirement_met(found)
            change = fc.remedy(loaded, seed, precision, weather, stress, threads, progress, year) if remedied else None
            if remedied:
                keep_remedy(results, change, change and change.cells)
            if remedied and change is not None:
                results.attrs["remedy"] = remedy_sentence(change)
                results.attrs["remedy_worst"] = change.worst
                results.attrs["remedy_steps"] = json.dumps(remedy_object(change)["remedy"]["steps"])
                text = site_to_toml(seen_from(change.site, folder.path))
                (staging / mended).write_text(text, encoding="utf-8", newline="\n")
            save_results(results, staging / RESULTS)
            if not no_pictures:
                progress.stage("Drawing")
                _draw(results, staging)
    if as_json:
        folder.warn_left()
        more = remedy_object(change) if remedied else {}
        say_json(run_object(found, folder.files) | hours_object(found) | loss_object(found) | review_object(reviewed) | more)
    else:
        say_blocks(run_blocks(found, folder.files, folder.left, remedy_blocks(change, mended) if remedied else ()))
    if require and not (requirement_met(found) and ceilings_met(found.attrs)):
        ctx.exit(NOT_MET)


def _refuse_empty_stress(ctx, stress: str) -> None:
    """An empty condition that was typed is a shell variable that was never set: not a wish for the complete year."""
    if not stress.strip() and ctx.get_parameter_source("stress") is not click.core.ParameterSource.DEFAULT:
        from fencecast.meteorology.stress import EXAMPLE

        raise UsageError(
            f'--stress "{stress}" is empty (a shell variable without a value?); type a condition, for instance '
            f'--stress "{EXAMPLE}", or leave --stress out for every armed hour'
        )


def _picture_names(sensitivity: bool, site, losses: bool) -> list[str]:
    from fencecast.show.write import pictures

    rows = pictures(sensitivity, site.weather_file is not None, losses, bool(site.stimulus), site.calibration is not None)
    return [name for names, *_ in rows for name in names]


def _draw(results, folder) -> None:
    from fencecast.show.write import write_pictures

    write_pictures(results, folder)


def _warn(site, classes: int, max_crossings: int, threads: int | None) -> None:
    from fencecast.findings.sitewarnings import long_run_warning, site_warnings
    from fencecast.job import processors

    for text in (*site_warnings(site, run=True), long_run_warning(site, classes, max_crossings, threads or processors())):
        if text:
            warn(text)
