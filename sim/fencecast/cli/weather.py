"""`fencecast weather`: what the hours of a site's weather file are like, in tables and as a picture."""

from __future__ import annotations

from pathlib import Path

import click

from fencecast.cli.output import say_blocks, say_json
from fencecast.errors import UsageError

PICTURE = "weather.png"


@click.command(short_help="What the hours of a site's weather file are like: classes, gaps, a picture.")
@click.argument("site", metavar="SITE.toml")
@click.option("-o", "--output", metavar="DIR", help=f"Folder for {PICTURE}.  [default: STEM-weather where you stand]")
@click.option("--force", is_flag=True, help="Use a folder that exists; only files that fencecast wrote there are replaced.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def weather(site, output, force, as_json) -> None:
    """Read the weather file that SITE.toml names and sort its armed hours into weather classes. Nothing is simulated.

    Prints what the record says and lacks, and hours per class; draws hours by class and month, and carpets of optical range,
    rain and a walker's contrast, night by night.
    """
    import fencecast as fc
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.findings.weather import weather_blocks, weather_object

    loaded = fc.load_site(site)
    if loaded.weather_file is None:
        raise UsageError(
            f"{site} has no weather file: its weather is the [[weather]] tables that it holds. To use an hourly record, take "
            'them out and type [weather_file] with path = "station.epw" (EPW, TMY3, or CSV with a column map); '
            "fencecast example marsh-depot writes a site that has one"
        )
    folder = OutputFolder(f"{Path(site).stem}-weather" if output is None else output, [PICTURE], replace=force)
    with folder as staging, Progress() as progress:
        progress.stage("Reading the weather")
        from fencecast.meteorology.load import load_year

        year = load_year(loaded)
        progress.stage("Drawing")
        from fencecast.show.paper.page import save_picture
        from fencecast.show.year.weathersummary import plot_weather

        save_picture(plot_weather(year, loaded), staging / PICTURE)
    folder.warn_left()
    said = weather_object(year, loaded, folder.files)
    if as_json:
        say_json(said)
    else:
        say_blocks(weather_blocks(said, loaded))
