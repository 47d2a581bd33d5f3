"""`fencecast to-map`: a site, and what was found about it, back onto the map."""

from __future__ import annotations

from pathlib import Path

import click

from fencecast.cli.output import say_blocks, say_json

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
    from fencecast.maps.writing import FORMATS as WRITERS
    from fencecast.show.map.sheet import check_formats, map_sheet

    formats = check_formats(formats, no_location)
    sheet, place, shown = map_sheet(source, weather, design, no_location, decimals)
    name = Path(source).stem if Path(source).suffix == ".toml" else Path(source).resolve().parent.name.removesuffix("-results")
    names = {form: f"site.{form}" for form in FORMATS if form in formats}
    folder = OutputFolder(output or f"{name or 'site'}-map", names.values(), replace=force)
    with folder as staging:
        for form, file in names.items():
            content = WRITERS[form](sheet)
            (staging / file).write_bytes(content if isinstance(content, bytes) else content.encode())
    folder.warn_left()
    kinds = [thing.kind for thing in sheet.things if not thing.kml_only]
    said = to_map_object(sheet.title, kinds, folder.files, place, shown, design)
    if as_json:
        say_json(said)
    else:
        say_blocks(to_map_blocks(said, not design and "view" in kinds and set(names) != {"gpx"}))
