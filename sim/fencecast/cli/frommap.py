"""`fencecast from-map`: a drawing from a map program becomes a site file, or brings one up to date."""

from __future__ import annotations

import os
from pathlib import Path

import click

from fencecast.cli.onefile import TAKEN, free_file, write_file
from fencecast.cli.output import say_blocks, say_json
from fencecast.errors import UsageError

UNITS = ("m", "cm", "mm", "ft", "us-ft", "in")


class Place(click.ParamType):
    """LAT,LON in degrees."""

    name = "LAT,LON"

    def convert(self, value, param, ctx):
        try:
            latitude, longitude = (float(part) for part in str(value).split(","))
            if not (abs(latitude) <= 90.0 and abs(longitude) <= 180.0):
                raise ValueError("no place")
        except ValueError:
            self.fail(f"{value!r} is no place: type latitude and longitude in degrees, for instance 54.07,6.41", param, ctx)
        return latitude, longitude


@click.command("from-map", short_help="Make a site file from a drawing of a map program.")
@click.argument("drawings", nargs=-1, required=True, metavar="DRAWING...")
@click.option("-o", "--output", required=True, metavar="SITE.toml", help="The site file to write.")
@click.option("--update", metavar="OLD.toml", help="Bring this file up to date: what was not drawn stays, comments too.")
@click.option("--as", "words", multiple=True, metavar='"WORD=KIND"', help="What a kind, layer or name with this text stands for.")
@click.option("--near", type=Place(), help="Where the site should be: finds swapped numbers and wrong hemispheres.")
@click.option("--origin", type=Place(), help="Where x = 0, y = 0 lies.  [default: south-west corner of what is drawn]")
@click.option(
    "--grid-north", type=click.FloatRange(-360, 360), metavar="DEG", help="Bearing of +y from true north.  [default: 0]"
)
@click.option(
    "--elevation", type=click.FloatRange(-500, 6000), metavar="M", help="Of the ground: lengths are those on it.  [default: 0]"
)
@click.option("--crs", default="", metavar="EPSG:n|site", help="What the coordinates of GeoJSON or DXF are; site: metres.")
@click.option("--unit", type=click.Choice(UNITS), default=None, help="Of a DXF drawing that does not say it.")
@click.option("--swap", is_flag=True, help="The drawing has latitude first.")
@click.option("--open", "opened", multiple=True, metavar="NAME", help="A fence that is meant not to close.")
@click.option("--leave-out", is_flag=True, help="Leave out what has problems, and write the rest.")
@click.option("--fit", is_flag=True, help="Place OLD.toml (--update) on the map by points named like things in it.")
@click.option("--weather-file", metavar="PATH", help="An hourly record instead of weather classes.")
@click.option("--no-location", is_flag=True, help="Write no place: shapes and lengths alone.")
@click.option("--force", is_flag=True, help="Replace SITE.toml when it exists.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def from_map(drawings, output, fit, force, as_json, **options) -> None:
    """Read fences, gates, buildings, cameras, mountings and rules from GeoJSON, KML, KMZ, GPX or DXF, and write a site file that
    `fencecast run` accepts, with "check this" behind every value that was not drawn.

    \b
    A feature's kind is its property `kind`, else its layer or folder, else a word of its name:
    fence building gate camera aim mounting rule area
    """
    target = _free(output, force, options["update"])
    if fit:
        _fit(drawings, target, options["update"], as_json)
        return
    from fencecast.findings.frommap import from_map_blocks, from_map_object
    from fencecast.maps.public import from_map as make

    made = make(*drawings, output=str(target), **options)
    same_file = options["update"] is not None and _same_file(options["update"], target)
    written = not (made.unchanged and same_file)
    if written:
        write_file(target, made.text)
    said = from_map_object(made, str(target), written)
    if as_json:
        say_json(said)
        return
    command = f"fencecast {'check' if made.site.camera else 'place'} {target}"
    say_blocks(from_map_blocks(said, options["no_location"], command, options["near"] is not None))


def _fit(drawings, target: Path, update: str | None, as_json: bool) -> None:
    if update is None:
        raise UsageError("--fit needs the file to place: type --update OLD.toml too")
    from fencecast.findings.fit import fit_blocks, fit_object
    from fencecast.maps.fit import fit_site

    fitted = fit_site(drawings, update)
    write_file(target, fitted.text)
    said = fit_object(fitted, str(target))
    if as_json:
        say_json(said)
    else:
        say_blocks(fit_blocks(said))


def _free(output: str, force: bool, update: str | None) -> Path:
    """The path to write; UsageError when it is taken or cannot be one. The file that is brought up to date may be replaced."""
    own = update is not None and _same_file(update, output)
    how = "type --force to bring it up to date in place" if own else TAKEN
    return free_file(output, ".toml", force, "a site file's name", how=how)


def _same_file(one: str | Path, two: str | Path) -> bool:
    return os.path.realpath(one) == os.path.realpath(two)
