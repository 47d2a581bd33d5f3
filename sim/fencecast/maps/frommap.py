"""Drawings to the text of a site file: read, locate, recognise, make tables, write, read back. One text, or every problem."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from fencecast.errors import InputError
from fencecast.maps import limits
from fencecast.maps.asked import Asked
from fencecast.maps.features import Drawing, Feature
from fencecast.maps.grid import Grid, place_words
from fencecast.maps.limits import Unreadable
from fencecast.maps.making import Making
from fencecast.maps.metres import in_metres
from fencecast.maps.readers import read_drawing
from fencecast.maps.recognise import Recognised, parse_as, recognise, unknown_layers
from fencecast.maps.rows import Report
from fencecast.maps.sitetext import site_text
from fencecast.maps.tocameras import add_cameras, add_mountings
from fencecast.maps.tofences import add_buildings, add_fences, add_gates
from fencecast.maps.torules import add_land, add_rules
from fencecast.maps.update import updated_text
from fencecast.site import Site, load_site, parse_site


@dataclass
class Made:
    """What came out: the text, the site that it reads as, the grid (None for a plan in metres) and the report."""

    text: str
    site: Site
    grid: Grid | None
    report: Report
    place: str = ""
    unchanged: bool = False
    not_drawn: list[str] = field(default_factory=list)


def make_site(paths: Sequence[str], asked: Asked) -> Made:
    """The site of one or more drawings. InputError with every problem of every drawing, UsageError for wrong options."""
    pairs = parse_as(asked.words)
    old = None if asked.update is None else load_site(asked.update)
    name = ", ".join(os.path.basename(path) for path in paths)
    report = Report()
    drawings = [each for path in paths if (each := _read(path, asked, report, len(paths) > 1)) is not None]
    found = _recognised(drawings, pairs, report, len(paths) > 1)
    report.refuse(name, asked.leave_out, fatal_only=True)
    grid = in_metres(drawings, found, asked, old, report, name)
    gone = {key for key, _ in report.wrong}
    unplaced = any(each.kind == "fence" and each.feature.key in gone for each in found)
    lost: list[Feature] = []
    if not [each for each in found if each.feature.key not in gone]:
        report.refuse(name, asked.leave_out)
    base = report
    # What is left out can change what is left (a gate without its fence), so tables are made anew until nothing is wrong; with
    # problems too, so that one report holds those of every stage, without those that follow from others.
    while True:
        report = Report(list(base.taken), list(base.left), {}, list(base.notes), list(base.checks), list(base.wrong))
        making = Making(grid, report, old, len(paths) > 1, asked.no_location, list(lost), unplaced)
        _make_tables(making, [each for each in found if each.feature.key not in gone], asked, name)
        made = _written(making, asked, old, drawings, name) if not _new(report, gone) else None
        fresh = _new(report, gone)
        if not fresh:
            break
        if asked.leave_out:
            report.refuse(name, True)
        elif any(key is None for key, _ in fresh):
            if not base.wrong:
                report.refuse(name, False)
            base.wrong += [(key, words) for key, words in fresh if key is not None or not _follows(words)]
            break
        gone |= {key for key, _ in fresh}
        lost += [each.feature for each in found if each.kind == "fence" and each.feature.key in {key for key, _ in fresh}]
        base.wrong += [each for each in fresh if asked.leave_out or each[0] not in report.follows]
    if not asked.leave_out:
        base.refuse(name, False)
    report.refuse(name, asked.leave_out)
    if made is None:
        raise AssertionError("tables without a problem gave no text")
    made.report.left += [(words.split(": ", 1)[0], words.split(": ", 1)[-1]) for _, words in base.wrong]
    return made


def _new(report: Report, gone: set) -> list:
    return [(key, words) for key, words in report.wrong if key is None or key not in gone]


def _follows(words: str) -> bool:
    """Whether a problem of the whole file may come from what was left out: something that is not in it."""
    return words.startswith(("there is no fence", "there is neither")) or " is missing: " in words


def _read(path: str, asked: Asked, report: Report, several: bool) -> Drawing | None:
    file = os.path.basename(path)
    try:
        drawing = read_drawing(Path(path), file, asked.unit)
    except Unreadable as error:
        report.wrong.append((None, f"{file}: {error}" if several else str(error)))
        return None
    report.notes += [f"{file}: {note}" for note in drawing.notes]
    head = f"{file}, " if several else ""
    report.left += [(head + label, why) for label, why in drawing.left]
    report.wrong += [(key, head + words) for key, words in drawing.wrong]
    return drawing


def _recognised(drawings: list[Drawing], pairs: list, report: Report, several: bool) -> list[Recognised]:
    found = []
    for drawing in drawings:
        head = f"{drawing.file}, " if several else ""
        kinds, left, wrong = recognise(drawing, pairs)
        found += kinds
        report.notes += [head + note for note in unknown_layers(kinds)]
        report.left += [(head + label, why) for label, why in left]
        report.wrong += [(feature.key, f"{head}{feature.label}: {words}") for feature, words in wrong]
    for kind, count in Counter(each.kind for each in found).items():
        if count > limits.OF_A_KIND:
            report.wrong.append(
                (None, f"{count:,} features are of kind {kind}, and at most {limits.OF_A_KIND:,} are taken: draw less")
            )
    if drawings and not found and not report.wrong:
        report.wrong.append(
            (None, "nothing in it has a kind: give features a property kind, or layers or names with a word such as fence")
        )
    return found


def _make_tables(making: Making, found: list[Recognised], asked: Asked, name: str) -> None:
    by = {kind: [each for each in found if each.kind == kind] for kind in {each.kind for each in found}}
    voters = [each.feature.points.mean(axis=0) for each in by.get("building", ())]
    voters += [each.feature.points[0] for each in by.get("camera", ())]
    add_fences(making, by.get("fence", ()), asked.opened, voters)
    add_gates(making, by.get("gate", ()))
    add_buildings(making, by.get("building", ()))
    add_cameras(making, by.get("camera", ()), by.get("aim", ()))
    add_mountings(making, by.get("mounting", ()))
    add_rules(making, [*by.get("rule", ()), *by.get("area", ())])
    add_land(making, by.get("land", ()))
    if making.old is not None or making.report.wrong:
        return
    if not making.fences:
        making.report.wrong.append(
            (
                None,
                "there is no fence in it: draw one as a line, with the word fence in its name, layer or kind"
                + _strangers(making),
            )
        )
    if not any(row.table in ("camera", "mounting") for row in making.rows):
        making.report.wrong.append(
            (
                None,
                "there is neither a camera nor a mounting in it: draw cameras as points, or as lines of two points "
                "(where each stands, where it looks)",
            )
        )


def _strangers(making: Making) -> str:
    """Features whose kind is not known, behind a problem that one of them may be the cause of; "" without any."""
    strange = [f"{label}: {why}" for label, why in making.report.left if why.startswith("its kind ")]
    more = f"; and {len(strange) - 1} more" if len(strange) > 1 else ""
    return f"; left out was {strange[0]}{more}" if strange else ""


def _written(making: Making, asked: Asked, old: Site | None, drawings: list[Drawing], name: str) -> Made | None:
    report = making.report
    not_drawn: list[str] = []
    if old is not None:
        text, not_drawn = updated_text(making, old, asked)
    else:
        title = next((d.title for d in drawings if d.title), "") or Path(drawings[0].file).stem
        text = site_text(making, asked, title, [d.file for d in drawings])
    try:
        site = parse_site(text, asked.output)
    except InputError as error:
        report.wrong += [_of_feature(making, str(problem)) for problem in error.problems]
        return None
    words = "" if making.grid is None or asked.no_location else place_words(making.grid.latitude, making.grid.longitude)
    return Made(text, site, making.grid, report, words, old is not None and text == old.text, not_drawn)


def _of_feature(making: Making, problem: str) -> tuple[tuple[str, int, int] | None, str]:
    """A problem of the site file, named by the feature that its table came from."""
    from fencecast.errors import show_value

    numbers: dict[str, int] = {}
    for row in making.rows:
        numbers[row.table] = numbers.get(row.table, 0) + 1
        heads = [f"{row.table} {show_value(row.name)} "] if row.name else []
        heads.append(f"{row.table} number {numbers[row.table]} ")
        if row.feature is not None and any(problem.startswith(head) for head in heads):
            return row.feature.key, f"{making.label(row.feature)}: as a site file: {problem}"
    return None, f"as a site file: {problem}"
