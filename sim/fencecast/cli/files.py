"""`fencecast plot` draws a results file again; `fencecast example` writes a worked site file to start from."""

from __future__ import annotations

import tomllib
from pathlib import Path

import click

from fencecast.cli.output import say, say_blocks
from fencecast.errors import UnknownNameError, UsageError

# Examples that are drawings of a map program, and what they show.
DRAWINGS = {"boat-yard": "A boat yard as it is drawn in a map program, as GeoJSON and KML: for fencecast from-map."}
# Examples in Python, and how a study file names what is in them.
_PYTHON = {"own-strategy": 'strategies = ["chain", "own_strategy:middle_masts"]'}


@click.command(short_help="Draw again from a results file, computing nothing.")
@click.argument("results", metavar="RESULTS.nc")
@click.option("-o", "--output", metavar="DIR", help="Folder for the pictures.  [default: beside the file]")
@click.option("--before", metavar="OLD.nc", help="After walks: a run of the file before them, drawn into fence-band.png.")
def plot(results, output, before) -> None:
    """Draw the pictures of a results file that `fencecast run`, `compare` or `study` wrote."""
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.estimate.store import open_results
    from fencecast.findings.blocks import written_lines
    from fencecast.show.write import pictures_of, write_pictures

    opened = open_results(results)
    old = None if before is None else open_results(before)
    names = [name for group, *_ in pictures_of(opened) for name in group]
    folder = OutputFolder(Path(results).parent if output is None else output, names, replace=True, keep_others=True)
    with folder as staging, Progress() as progress:
        progress.stage("Drawing")
        write_pictures(opened, staging, old)
    say_blocks(written_lines(folder.files))


@click.command(short_help="Write a worked example to start from; without a name list them.")
@click.argument("name", required=False)
@click.argument("folder", required=False, metavar="[DIR]")
def example(name, folder) -> None:
    """Write the worked example NAME into DIR (where you stand, when left out); without a NAME list the examples.

    own-strategy is a layout strategy in Python, for a study.
    """
    known = _examples()
    if name is None:
        from fencecast.findings.blocks import LEFT, Line, Table

        rows = [[each, _first_line(text)] for each, text in known.items()] + [list(row) for row in DRAWINGS.items()]
        listing = Table.of([("example", LEFT), ("what it shows", LEFT)], rows)
        say_blocks([listing, Line("Write one with: fencecast example NAME", apart=True)])
        return
    wanted = name.removesuffix(".toml").removesuffix(".py")
    if wanted not in {*known, *DRAWINGS}:
        raise UnknownNameError("example", name, [*known, *DRAWINGS], "fencecast")
    place = Path(folder or ".")
    if wanted in DRAWINGS:
        drawings = {place / file: text for file, text in _drawings(wanted).items()}
        _write_new(drawings)
        first = next(iter(drawings))
        say(*(f"Written  {path}" for path in drawings), f"Next     fencecast from-map {first} -o {wanted}.toml")
        return
    if wanted in _PYTHON:
        target = place / f"{_module_name(wanted)}.py"
        _write_new({target: known[wanted]})
        say(f"Written  {target}", f"Next     name it in a study file beside it: {_PYTHON[wanted]}")
        return
    texts = {place / f"{wanted}.toml": known[wanted]} | {place / file: text for file, text in _beside(known[wanted]).items()}
    _write_new(texts)
    target = next(iter(texts))
    command = "study" if "strategies" in tomllib.loads(known[wanted]) else "run"
    say(*(f"Written  {path}" for path in texts), f"Next     fencecast {command} {target}")


def _drawings(name: str) -> dict[str, str]:
    """The drawing of an example in both formats, by file name."""
    from importlib.resources import files

    home = files("fencecast").joinpath("examples")
    return {f"{name}.{end}": home.joinpath(f"{name}.{end}").read_text(encoding="utf-8") for end in ("geojson", "kml")}


def _examples() -> dict[str, str]:
    """The examples inside the package, by name."""
    from importlib.resources import files

    found = {Path(each.name): each for each in files("fencecast").joinpath("examples").iterdir()}
    kept = {path.stem: each for path, each in found.items() if path.suffix == ".toml" or path.stem in _PYTHON}
    return {name: kept[name].read_text(encoding="utf-8") for name in sorted(kept)}


def _beside(text: str) -> dict[str, str]:
    """Files that a site file reads, inside the package, by name: its hourly weather."""
    from importlib.resources import files

    name = tomllib.loads(text).get("weather_file", {}).get("path")
    return {} if name is None else {name: files("fencecast").joinpath("examples", name).read_text(encoding="utf-8")}


def _first_line(text: str) -> str:
    return text.splitlines()[0].removeprefix("#").strip().strip('"')


def _module_name(name: str) -> str:
    """Modules of Python have no hyphen."""
    return name.replace("-", "_")


def _write_new(texts: dict[Path, str]) -> None:
    """Write files that must not exist yet; nothing of them stays when one of them fails."""
    written: list[Path] = []
    try:
        for target, text in texts.items():
            if not target.parent.is_dir():
                what = "is not a folder" if target.parent.exists() else "does not exist; make it first"
                raise UsageError(f"{target} cannot be written: {target.parent} {what}")
            try:
                file = target.open("x", encoding="utf-8", newline="\n")
            except FileExistsError:
                raise UsageError(
                    f"{target} exists already, and examples overwrite nothing; move it away or name another folder"
                ) from None
            except (OSError, ValueError) as error:
                raise UsageError(f"{target} cannot be written: {getattr(error, 'strerror', None) or error}") from None
            written.append(target)
            with file:
                file.write(text)
    except BaseException:
        for target in written:
            target.unlink(missing_ok=True)
        raise
