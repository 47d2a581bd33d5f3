"""The eight lines in front of an EPW file's hours, looked at before a library skips so many lines and takes what follows.

Lines and their fields: EnergyPlus, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary".
Tests: tests/meteorology/test_records_epw.py.
"""

from __future__ import annotations

from pathlib import Path

from fencecast.errors import InputError, Problem, name_list, show_value
from fencecast.meteorology.records.texts import not_this_kind

KIND = "an EPW file (a header of eight lines, then 35 columns)"
HEADER = (
    "LOCATION",
    "DESIGN CONDITIONS",
    "TYPICAL/EXTREME PERIODS",
    "GROUND TEMPERATURES",
    "HOLIDAYS/DAYLIGHT SAVINGS",
    "COMMENTS 1",
    "COMMENTS 2",
    "DATA PERIODS",
)
_COLUMNS = 35
# Years, months, days and hours stand in front of every hour.
_LEAST_COLUMNS = 5
_PLACE = ("city", "state", "country", "source", "station number", "latitude", "longitude", "time zone", "elevation")
_NUMBERS = {
    "latitude": (-90.0, 90.0, "degrees north"),
    "longitude": (-180.0, 180.0, "degrees east"),
    "time zone": (-12.0, 14.0, "hours from UTC"),
    "elevation": (-1000.0, 9999.9, "metres"),
}


def check_head(path: Path, lines: list[tuple[int, str]]) -> None:
    """InputError unless these lines (number in the file, text; none blank) are a header of eight, then hours of 35 columns."""
    name = lines[0][1].split(",")[0].strip().strip('"') if lines else ""
    if name.upper() != HEADER[0]:
        what = f"line {lines[0][0]} begins with {show_value(name)}" if lines else "it is empty"
        raise not_this_kind(path, KIND, ValueError(f"{what}, where the word {HEADER[0]} should stand"))
    first = next((k for k, (_, text) in enumerate(lines) if _is_hour(text)), None)
    if first is None:
        raise not_this_kind(path, KIND, ValueError("no line begins with year, month, day and hour"))
    if first != len(HEADER):
        raise InputError([_not_eight(lines[: first + 1])], str(path))
    problems = _place_problems(*lines[0])
    number, text = lines[first]
    columns = text.count(",") + 1
    if columns > _COLUMNS:
        problems.append(f"line {number}: it has {columns} columns, and an hour of an EPW file has {_COLUMNS}; take out the rest")
    if problems:
        raise InputError(problems, str(path))


def _is_hour(text: str) -> bool:
    parts = [part.strip() for part in text.split(",")]
    return len(parts) >= _LEAST_COLUMNS and all(part.isdigit() for part in parts[:4])


def _not_eight(lines: list[tuple[int, str]]) -> str:
    """What is said of a header that is too short or too long; the last of the lines is the first hour."""
    names = [text.split(",")[0].strip().strip('"').upper() for _, text in lines[:-1]]
    missing = [name for name in HEADER if name not in names]
    strange = [number for (number, _), name in zip(lines, names) if name not in HEADER]
    text = (
        f"the first hour is in line {lines[-1][0]}, after {len(names)} lines of header, and an EPW file has {len(HEADER)}: the "
        "hours would be read from the wrong line"
    )
    if missing:
        text += f"; missing: {name_list(missing)}"
    if strange:
        text += f"; no line of an EPW header: {', '.join(f'line {number}' for number in strange)}"
    return f"{text}; the lines of the header begin with {name_list(HEADER)}"


def _place_problems(number: int, text: str) -> list[Problem | str]:
    """What is wrong with the LOCATION line."""
    parts = [part.strip().strip('"') for part in text.split(",")[1:]]
    if len(parts) < len(_PLACE):
        there = f"{len(parts)} field{'' if len(parts) == 1 else 's'}"
        return [f"line {number}: LOCATION is followed by {there}, and needs {len(_PLACE)}: {', '.join(_PLACE)}"]
    problems = []
    for name, part in zip(_PLACE, parts):
        if name in _NUMBERS and not _between(part, *_NUMBERS[name][:2]):
            low, high, unit = _NUMBERS[name]
            problems.append(Problem(f"line {number}: LOCATION {name}", part, f"a number from {low:g} to {high:g} ({unit})"))
    return problems


def _between(text: str, low: float, high: float) -> bool:
    try:
        return low <= float(text) <= high
    except ValueError:
        return False
