"""`fencecast built`: how the cameras are turned on the finished site, from marks that were read in their pictures."""

from __future__ import annotations

from pathlib import Path

import click

from fencecast.cli.onefile import free_file, write_files
from fencecast.cli.output import say_blocks, say_json, warn


@click.command(short_help="Solve each camera's pose from marks read on the finished site.")
@click.argument("site", metavar="SITE.toml")
@click.argument("marks", metavar="MARKS.csv")
@click.option("--picture", metavar="640x480", help="Size of the picture that was read, when it is not the sensor's.")
@click.option("--lens-free", is_flag=True, help="Solve for the focal length too, of cameras with six marks and more.")
@click.option("-o", "--output", metavar="FILE", help="The site file to write.  [default: STEM-built.toml where you stand]")
@click.option("--run", "both", is_flag=True, help="Simulate the design and the site as built, on the same crossings.")
@click.option(
    "--walked", nargs=2, metavar="PLAN.json LOG.csv", help="Of --run: what was walked stands beside it, place by place."
)
@click.option("--precision", type=float, metavar="P", help="Of --run: half width of every difference of Pd.  [default: 0.01]")
@click.option("--weather", multiple=True, metavar="NAME", help="Of --run: only this weather class; may be repeated.")
@click.option("--threads", type=int, metavar="N", help="Of --run; the results are the same with any number.  [default: all]")
@click.option("--force", is_flag=True, help="Replace the files when they exist.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
@click.pass_context
def built(ctx, site, marks, picture, lens_free, output, both, walked, precision, weather, threads, force, as_json) -> None:
    """Find bearing, depression, roll and height of every camera from the marks.csv that `fencecast aim` wrote and people filled
    in beside the live picture, and write a new site file and a picture of it. The old file stays as it is.

    Cameras whose readings fit no pose keep the pose of the file; the exit code is then 2.
    """
    import fencecast as fc
    from fencecast.cli.progress import Progress
    from fencecast.errors import UsageError
    from fencecast.findings.built import built_blocks, built_object
    from fencecast.findings.sitewarnings import site_warnings

    if not both and (walked or precision is not None or weather or threads is not None):
        raise UsageError("--walked, --precision, --weather and --threads belong to --run; type --run as well")
    target = free_file(output or f"{Path(site).stem}-built.toml", ".toml", force, "the site file's name")
    drawn = free_file(target.with_suffix(".png"), ".png", force, "the picture's name")
    tested, walked_in = {}, ""
    if walked:
        from fencecast.prove.built.walked import walked_places

        tested, walked_in = walked_places(*walked)
    found = fc.built(site, marks, picture, lens_free)
    for text in dict.fromkeys([*found.warnings, *site_warnings(found.site)]):
        warn(text)
    results = None
    with Progress() as progress:
        if both:
            from fencecast.decide.compare.designs import DEFAULT_PRECISION

            progress.stage("Getting ready (compiles once, half a minute)")
            results = fc.compare(
                *found.designs,
                precision=DEFAULT_PRECISION if precision is None else precision,
                weather=weather,
                threads=threads,
                progress=progress,
                command=ctx.find_root().obj or "",
            )
        progress.stage("Drawing")
        from fencecast.show.built.picture import plot_built
        from fencecast.show.paper.page import picture_bytes

        image = picture_bytes(plot_built(found))
    write_files({target: found.site.text.encode(), drawn: image})
    files = [str(target), str(drawn)]
    if as_json:
        said = built_object(found, files)
        if results is not None:
            from fencecast.findings.builtrun import both_object

            said["run"] = both_object(results, tested, walked_in)
        say_json(said)
    else:
        added = []
        if results is not None:
            from fencecast.findings.builtrun import both_blocks

            added = both_blocks(results, tested, walked_in)
        say_blocks(built_blocks(found, files, added))
    if found.not_fitted:
        ctx.exit(2)
