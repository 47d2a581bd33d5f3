"""`fencecast study`: strategies and lenses over many yards and kinds of weather, on all processors or on a cluster."""

from __future__ import annotations

from pathlib import Path

import click

from fencecast.cli.output import say_blocks, say_json, tell, warn
from fencecast.errors import UsageError

RESULTS = "study.nc"


@click.command(short_help="Compare layout strategies over many yards, at equal numbers of cameras or equal cost.")
@click.argument("study", metavar="STUDY.toml")
@click.option("-o", "--output", metavar="DIR", help="Folder of the study.  [default: STEM-study where you stand]")
@click.option("--workers", type=int, metavar="N", help="Processes; 1 works in this one.  [default: all processors]")
@click.option("--scheduler", default="", metavar="ADDRESS", help="A Dask cluster instead, for instance tcp://127.0.0.1:8786.")
@click.option("--no-pictures", is_flag=True, help="Only study.nc.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def study(study, output, workers, scheduler, no_pictures, as_json) -> None:
    """Compare strategies x lenses over the yards and the weather of STUDY.toml.

    Every piece (a yard with a strategy and a lens) is kept whole in the study's folder as soon as it is done. The same command
    goes on where it stopped, and computes anew only what the study file or the program has changed. Results are the same to the
    last bit with any number of workers, on one kind of processor.

    How long: a piece of the worked study (430 m of fence, three amounts of cameras, two kinds of air) takes about 3 s of one
    processor. So its 40 yards x 4 strategies take about 4 minutes on two processors, and 1,000 such yards (count = 1000) about
    1 hour 40 minutes on two, or 6 to 7 minutes on a cluster of 32.

    \b
    Try it:  fencecast example yard-study
             fencecast study yard-study.toml
    """
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.decide.study.file import check_workers, load_study
    from fencecast.decide.study.running import pieces_there, run_study
    from fencecast.estimate.store import save_results
    from fencecast.findings.standings import study_warnings
    from fencecast.findings.study import study_blocks, study_object
    from fencecast.show.write import STUDY, write_pictures

    check_workers(workers, scheduler)
    loaded = load_study(study)
    place = Path(f"{Path(study).stem}-study" if output is None else output)
    names = [RESULTS, *([] if no_pictures else [name for group, *_ in STUDY for name in group])]
    _check_folder(place, names)
    with Progress() as progress:
        progress.stage("Getting ready (compiles once, half a minute)")
        try:
            results = run_study(loaded, place, workers, scheduler, progress)
        except KeyboardInterrupt:
            there, count = pieces_there(loaded, place)
            tell(f"{there:,} of {count:,} pieces are kept in {place}; the same command goes on from there.")
            raise
        folder = OutputFolder(place, names, replace=True)
        with folder as staging:
            save_results(results, staging / RESULTS)
            if not no_pictures:
                progress.stage("Drawing")
                write_pictures(results, staging)
    for text in study_warnings(results):
        warn(text)
    if as_json:
        folder.warn_left()
        say_json(study_object(results, folder.files))
    else:
        say_blocks(study_blocks(results, folder.files, folder.left))


def _check_folder(place: Path, names: list[str]) -> None:
    """A new folder, or one with pieces of a study in which nothing that will be written is somebody else's."""
    from fencecast.cli.folder import written_here
    from fencecast.decide.study.running import PIECES

    other = "choose another folder with -o"
    if place.exists() and not place.is_dir():
        raise UsageError(f"{place} exists and is not a folder; {other}")
    if not place.exists():
        if not place.parent.is_dir():
            raise UsageError(f"{place} cannot be made: {place.parent} does not exist; make it first, or {other}")
    elif any(place.iterdir()) and not (place / PIECES).is_dir():
        raise UsageError(f"{place} exists already and holds no study; {other}")
    ours, _ = written_here(place)
    foreign = [name for name in names if (place / name).exists() and name not in ours]
    if foreign:
        raise UsageError(f"{place} holds {', '.join(foreign)}, which fencecast did not write or which changed since; {other}")
    try:
        (place / PIECES).mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UsageError(f"{place} cannot be written: {error.strerror or error}; {other}") from None
