"""marks.csv as it comes back from the site: one row a mark, columns as `prove.marksfile` writes them; all problems in one report.

column and row are read in the live picture: a whole number is pixel i, and so its middle i + 0.5; a number
with a part behind the point is the place itself, pixel i being [i, i + 1). A row with both empty is a mark that was not read.

Tests: tests/prove/built/test_marksread.py.
"""

from __future__ import annotations

import hashlib
import math
import re
from dataclasses import dataclass
from os import PathLike
from pathlib import Path

import numpy as np

from fencecast.errors import InputError, UsageError, did_you_mean, name_list
from fencecast.prove.built.markscells import Report, Row, content_of, rows_of
from fencecast.prove.marks import FEWEST
from fencecast.site import Site

LEAST_HEIGHT_M, MOST_HEIGHT_M = 1.0, 60.0
APART_M = 1.0


@dataclass(frozen=True)
class ReadMark:
    """One mark that was read: name, place [m], where it appeared [px of the picture that was read], its line in the file."""

    name: str
    x_m: float
    y_m: float
    z_m: float
    column: float
    row: float
    line: int


@dataclass(frozen=True)
class ReadCamera:
    """What was read of one camera; not_read: names of its marks without a reading; tape_m: height by tape."""

    mark: str
    tape_m: float
    marks: tuple[ReadMark, ...]
    not_read: tuple[str, ...]

    def places(self) -> np.ndarray:
        """(n, 3) [m]."""
        return np.array([(each.x_m, each.y_m, each.z_m) for each in self.marks])

    def readings(self) -> np.ndarray:
        """(n, 2) column and row [px of the picture that was read]."""
        return np.array([(each.column, each.row) for each in self.marks])


@dataclass(frozen=True)
class MarksRead:
    """A file of marks: cameras with readings, in the order of the site; not_read: cameras of the file without any; its hash."""

    cameras: tuple[ReadCamera, ...]
    not_read: tuple[str, ...]
    sha256: str


def parse_picture(text: str | tuple[int, int] | None) -> tuple[int, int] | None:
    """The size of the picture that was read, columns and rows, from `640x480`; UsageError for anything else."""
    if text is None:
        return None
    found = re.fullmatch(r"\s*(\d{1,5})\s*[xX×]\s*(\d{1,5})\s*", text) if isinstance(text, str) else None
    pair = (int(found[1]), int(found[2])) if found else text
    good = isinstance(pair, tuple) and len(pair) == 2 and all(isinstance(n, int) and 4 <= n <= 20_000 for n in pair)
    if not good:
        allowed = "columns x rows, whole numbers from 4 to 20000"
        raise UsageError(f"picture {text!r} is not allowed: {allowed}; type for instance 640x480")
    return pair  # type: ignore[return-value]


def read_marks(path: str | PathLike[str], site: Site, picture: tuple[int, int] | None = None) -> MarksRead:
    """The readings of a file; InputError with every problem in it.

    picture: columns and rows of the picture that was read, when it is not the sensor's.
    """
    name = str(path)
    content = content_of(Path(path))
    rows, report = rows_of(content, name)
    marks = [camera.mark for camera in site.camera]
    _check_cameras(rows, marks, report)
    cameras, not_read = [], []
    for camera in site.camera:
        mine = [row for row in rows if row.camera == camera.mark]
        if not mine:
            continue
        if all(row.blank and not row.bad for row in mine):
            not_read.append(camera.mark)
            continue
        found = _camera(camera.mark, mine, _largest(site, camera, picture), picture is not None, report)
        if found is not None:
            cameras.append(found)
    if not report.problems and not cameras:
        report.say("no mark has been read: column and row are empty in every row; fill them in beside the live picture")
    if report.problems:
        raise InputError(report.problems, name)
    return MarksRead(tuple(cameras), tuple(not_read), hashlib.sha256(content).hexdigest())


def _check_cameras(rows: list[Row], marks: list[str], report: Report) -> None:
    for row in rows:
        if row.camera and row.camera not in marks:
            hint = did_you_mean(row.camera, marks)
            report.say(f'line {row.line} camera "{row.camera}" is not known{hint or f"; the site has {name_list(marks)}"}')
    if not rows and not report.problems:
        report.say("there is no row under the names of the columns; fencecast aim writes them")


def _largest(site: Site, camera, picture: tuple[int, int] | None) -> tuple[int, int]:
    if picture is not None:
        return picture
    sensor = site.sensors[camera.sensor]
    return int(sensor.columns), int(sensor.rows)


def _camera(mark: str, rows: list[Row], size: tuple[int, int], scaled: bool, report: Report) -> ReadCamera | None:
    """One camera that has been read; None when something of it was refused."""
    before = len(report.problems)
    seen: dict[str, int] = {}
    for row in rows:
        if row.name and row.name in seen:
            first = f"first in line {seen[row.name]}"
            report.say(f'line {row.line} mark "{row.name}" of camera "{mark}" is there twice, {first}; number its marks 1, 2, 3')
        seen.setdefault(row.name, row.line)
    _check_readings(rows, size, scaled, report)
    _check_apart(mark, [row for row in rows if not row.blank], report)
    tape = _tape(mark, rows, report)
    read = [row for row in rows if not row.blank]
    if len(read) < FEWEST and not any(row.bad for row in rows):
        have = f"{len(read)} mark{'s' if len(read) != 1 else ''} read"
        report.say(f'camera "{mark}" has {have}: {FEWEST} are needed, 4 tell a misread mark; or leave all of its rows empty')
    if len(report.problems) > before or any(row.bad for row in rows) or tape is None:
        return None
    marks = tuple(
        ReadMark(row.name, *(float(v) for v in row.place), *(_middle(v) for v in row.reading), row.line)  # type: ignore[arg-type]
        for row in read
    )
    return ReadCamera(mark, tape, marks, tuple(row.name for row in rows if row.blank))


def _middle(value: float | None) -> float:
    """A whole number is a pixel, and stands for its middle."""
    assert value is not None
    return value + 0.5 if value == math.floor(value) else value


def _check_readings(rows: list[Row], size: tuple[int, int], scaled: bool, report: Report) -> None:
    for row in rows:
        for what, value, most in zip(("column", "row"), row.reading, size):
            if value is None or 0.0 <= value <= most:
                continue
            allowed = f"pixels from 0 to {most}: the picture has {size[0]} x {size[1]}"
            if value > most and not scaled:
                allowed += "; read in a picture of another size? type --picture 640x480"
            report.cell(row.line, what, value, allowed)


def _check_apart(mark: str, rows: list[Row], report: Report) -> None:
    placed = [row for row in rows if row.place[0] is not None and row.place[1] is not None]
    for k, row in enumerate(placed):
        for other in placed[:k]:
            apart = math.dist(row.place[:2], other.place[:2])  # type: ignore[arg-type]
            if apart < APART_M:
                report.say(
                    f'line {row.line}: marks "{other.name}" and "{row.name}" of camera "{mark}" lie {apart:.2f} m apart; '
                    f"{APART_M:g} m is the least: was one place typed twice?"
                )


def _tape(mark: str, rows: list[Row], report: Report) -> float | None:
    given = {row.height_m: row.line for row in reversed(rows) if row.height_m is not None}
    if not given:
        if not any(row.bad for row in rows):
            report.say(
                f'line {rows[0].line} height_m of camera "{mark}" is missing: its lens above the ground by tape, in metres, '
                "once for each camera; type for instance 4.02"
            )
        return None
    for value, line in given.items():
        if not LEAST_HEIGHT_M <= value <= MOST_HEIGHT_M:
            allowed = f"metres by tape from {LEAST_HEIGHT_M:g} to {MOST_HEIGHT_M:g}"
            report.cell(line, "height_m", value, allowed, "4.02")
    if len(given) > 1:
        both = " and ".join(f"{value:g} (line {line})" for value, line in sorted(given.items(), key=lambda each: each[1])[:2])
        report.say(f'camera "{mark}" has two heights, {both}; type it once for each camera')
    return next(iter(given))
