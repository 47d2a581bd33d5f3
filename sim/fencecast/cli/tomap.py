"""`fencecast to-map`: a site, and what was found about it, back onto the map."""

from __future__ import annotations

from pathlib import Path

import click

from fencecast.cli.output import say_blocks, say_json
from fencecast.errors import UsageError

FORMATS = ("geojson", "kml", "kmz", "gpx")


@click.command("to-map", short_help="Write a site or its results for map programs.")
@click.argument("source", metavar="SITE.toml|RESULTS.nc")
@click.option("-o", "--output", metavar="DIR", help="Folder for the files.  [default: STEM-map where you stand]")
@click.option(
    "--format", "formats", multiple=True, type=click.Choice(FORMATS), help="Repeat it for several.  [default: geojson, kml]"
)
@click.option(
    "--weather", default="worst", metavar="NAME|worst|year", help="Weather of the results.  [default: the worst of each place]"
)
@click.option("--design", is_flag=True, help="What stands on the site alone: no result, no view, no blind ground.")
@click.option("--no-location", is_flag=True, help="Put the yard at 0 N 0 E.")
@click.option("--decimals", type=click.IntRange(5, 12), default=9, show_default=True, help="Of degrees; 6 are 64 mm.")
@click.option("--force", is_flag=True, help="Use a folder that exists; only files that fencecast wrote there are replaced.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def to_map(source, output, formats, weather, design, no_location, decimals, force, as_json) -> None:
    """Write fences, gates, buildings, cameras and rules with their keys, as `from-map` reads them, views and blind ground, and
    of a results file Pd along the fence, as GeoJSON and KML (bands beside the fence, black where it is weak). GPX: cameras,
    corners and fences for a hand-held receiver.
    """
    from fencecast.cli.folder import OutputFolder
    from fencecast.findings.tomap import to_map_blocks, to_map_object
    from fencecast.maps.grid import place_words

    formats = formats or ("geojson", "kml")
    if no_location and "gpx" in formats:
        raise UsageError("--no-location and --format gpx do not go together: a receiver would look for the yard at 0 N 0 E")
    sheet, grid, shown = _sheet(source, weather, design, no_location, decimals)
    name = Path(source).stem if Path(source).suffix == ".toml" else Path(source).resolve().parent.name.removesuffix("-results")
    names = {form: f"site.{form}" for form in FORMATS if form in formats}
    folder = OutputFolder(output or f"{name or 'site'}-map", names.values(), replace=force)
    with folder as staging:
        from fencecast.maps.writing import FORMATS as WRITERS

        for form, file in names.items():
            content = WRITERS[form](sheet)
            (staging / file).write_bytes(content if isinstance(content, bytes) else content.encode())
    folder.warn_left()
    place = "" if no_location else place_words(grid.latitude, grid.longitude)
    kinds = [thing.kind for thing in sheet.things if not thing.kml_only]
    said = to_map_object(sheet.title, kinds, folder.files, place, shown, design)
    if as_json:
        say_json(said)
    else:
        say_blocks(to_map_blocks(said, not design and "view" in kinds and set(names) != {"gpx"}))


def _sheet(source: str, weather: str, design: bool, no_location: bool, decimals: int):
    """What is written, the grid, and the weather that is shown (None without results)."""
    from fencecast.findings.tomap import file_words
    from fencecast.maps.grid import Grid
    from fencecast.maps.things import Sheet, site_things
    from fencecast.show.map.results import WORST, YEAR, design_styles, result_things, styles
    from fencecast.show.map.views import view_things

    site, results = _opened(source)
    if site.map is None and not no_location:
        raise UsageError(
            f"the site of {source} has no [map], so nobody knows where it lies: add one, or place it with "
            "fencecast from-map POINTS --fit --update SITE.toml -o PLACED.toml; --no-location puts it at 0 N 0 E"
        )
    grid = Grid(0.0, 0.0) if no_location else Grid.of(site.map)
    shown = None
    things = []
    if results is not None and not design:
        known = [str(name) for name in results["weather"].values]
        if weather not in (WORST, YEAR, *known):
            from fencecast.errors import UnknownNameError

            raise UnknownNameError("weather", weather, [WORST, YEAR, *known], source)
        things, shown = result_things(results, weather), weather
    elif weather != WORST:
        raise UsageError("--weather needs results: name a results file, without --design")
    things += site_things(site, grid)
    looks = design_styles()
    if not design:
        things += view_things(site)
        looks = (styles(site.requirement.pd) if shown else {}) | looks
    words = file_words(site.requirement.pd, shown, no_location)
    return Sheet(site.title, words, [thing.on_map(grid) for thing in things], looks, decimals), grid, shown


def _opened(source: str):
    """The site, and the results when it is a results file."""
    import fencecast as fc

    if Path(source).suffix.lower() == ".toml":
        return fc.load_site(source), None
    from fencecast.estimate.results import Results
    from fencecast.estimate.store import open_results

    results = open_results(source)
    if "study_toml" in results.attrs or "pd_difference" in results:
        raise UsageError(f"{source} holds a study or a comparison; to-map draws the results of `fencecast run`")
    return Results.of(results).site, results
