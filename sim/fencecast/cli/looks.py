"""`fencecast ranges`, `explain` and `view`: what a lens can do on paper, and one look step by step or as a picture."""

from __future__ import annotations

import click

from fencecast.cli.output import say, say_blocks, say_json, warn
from fencecast.errors import UsageError

_GAITS = "walk, run, crouch, crawl or flat_crawl"

_SITE = click.argument("site", metavar="SITE.toml")
_CAMERA = click.option("--camera", required=True, metavar="MARK", help="The camera's mark.")
_WEATHER = click.option("--weather", required=True, metavar="NAME", help="The weather class.")
_GAIT = click.option("--gait", default="walk", show_default=True, metavar="GAIT", help=f"How the person moves: {_GAITS}.")
_BODY = click.option(
    "--body", metavar="NAME", help="Instead of a person: a stimulus of the site, or a kind of body such as fox, cat or vehicle."
)
_JSON = click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")


@click.command(short_help="What each camera's lens can do: fields, pixels, blind ground, ranges.")
@_SITE
@_JSON
def ranges(site, as_json) -> None:
    """Fields of view, pixels on a person, blind ground, ranges, and false alarms from sensor noise alone, of every camera.

    Formulas on paper: no weather, no crossings.
    """
    import fencecast as fc

    loaded = _load(site)
    table = fc.ranges(loaded)
    if as_json:
        say_json(table)
    else:
        from fencecast.findings.ranges import ranges_blocks

        say_blocks(ranges_blocks(table, loaded))


@click.command(short_help="One look, step by step, as a budget to check by hand.")
@_SITE
@_CAMERA
@_WEATHER
@click.option("--distance", type=float, metavar="M", help="Metres along the ground, on the camera's bearing.")
@click.option("--at", "place_m", type=float, nargs=2, metavar="X Y", help="Or the place itself, in the metres of the site file.")
@_GAIT
@_BODY
@_JSON
@click.option("-o", "--output", metavar="PNG", help="Draw the budget as well.")
def explain(site, camera, weather, distance, place_m, gait, body, as_json, output) -> None:
    """One person walks across a camera's view: where the contrast goes, and whether the look counts.

    With --body it is an animal or a vehicle, and the last steps ask whether it is taken for a person.

    Every varying quantity is at its median.
    """
    import fencecast as fc
    from fencecast.cli.folder import whole_file
    from fencecast.cli.onefile import picture_file

    if (distance is None) == (place_m is None):
        raise UsageError("one of --distance M and --at X Y says where the person is; type for instance --distance 40")
    path = picture_file(output) if output else None
    loaded = _load(site)
    look = fc.explain(loaded, camera, weather, distance, gait, place_m, body)
    if path:
        from fencecast.show.look.onelook import plot_one_look
        from fencecast.show.paper.page import save_picture

        with whole_file(path) as part:
            save_picture(plot_one_look(look, loaded), part)
    if as_json:
        say_json(look)
        return
    from fencecast.findings.looks import look_blocks

    say_blocks(look_blocks(look, loaded))
    if path:
        say(f"\nWritten  {path}")


@click.command(short_help="The contrast picture that a camera would see.")
@_SITE
@_CAMERA
@_WEATHER
@click.option(
    "--distance", "distances", type=float, multiple=True, required=True, metavar="M", help="Metres along the ground; repeat it."
)
@_GAIT
@_BODY
@click.option("-o", "--output", required=True, metavar="PNG", help="The picture to write.")
def view(site, camera, weather, distances, gait, body, output) -> None:
    """Draw one person at each distance as the camera sees the person, beside the site's clearest weather class."""
    import fencecast as fc
    from fencecast.cli.folder import whole_file
    from fencecast.cli.onefile import picture_file
    from fencecast.show.look.view import MOST_DISTANCES, plot_view
    from fencecast.show.paper.page import save_picture

    if len(distances) > MOST_DISTANCES:
        raise UsageError(f"{len(distances)} distances are too many for one picture: at most {MOST_DISTANCES}")
    path = picture_file(output)
    loaded = _load(site)
    frames = fc.view(loaded, camera, weather, list(distances), gait, body)
    with whole_file(path) as part:
        save_picture(plot_view(frames, loaded), part)
    from fencecast.findings.looks import view_blocks

    say_blocks(view_blocks(frames, loaded))
    say(f"\nWritten  {path}")


def _load(path: str):
    """The site, with its warnings on standard error."""
    import fencecast as fc
    from fencecast.findings.sitewarnings import site_warnings

    site = fc.load_site(path)
    for text in site_warnings(site):
        warn(text)
    return site
