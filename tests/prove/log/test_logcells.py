"""Cells: what has one reading is read, what has two is refused with what to type."""

from __future__ import annotations

import datetime

import pytest

from fencecast.prove.log.cells import (
    Wrong,
    date_order,
    decimals,
    nearest_day,
    read_date,
    read_heard,
    read_number,
    read_time,
    read_whole,
)

DAY = datetime.date(2026, 11, 29)


@pytest.mark.parametrize(
    ("cell", "seconds"),
    [
        ("22:04:31", 79471.0),
        ("22:04:31.5", 79471.5),
        ("22:04:31,5", 79471.5),
        ("'22:04:31", 79471.0),
        ("10:04:31 PM", 79471.0),
        ("10:04:31 p.m.", 79471.0),
        ("12:00:05 AM", 5.0),
        ("12:00:05 pm", 43205.0),
        ("0:00:01", 1.0),
    ],
)
def test_times_of_one_reading(cell, seconds):
    assert read_time(cell) == seconds


@pytest.mark.parametrize(
    ("cell", "words", "instead"),
    [
        ("22:04", "the seconds are missing", "22:04:00"),
        ("04:31.5", "a spreadsheet has cut the hours off", "22:04:31.5"),
        ("0.919803", "a number is no time", "22:04:31"),
        ("24:05:00", "after midnight the day's count begins anew", "00:05:00"),
        ("22:61:00", "minutes and seconds 0 to 59", "22:04:31"),
        ("13:04:31 PM", "hours 1 to 12 with AM or PM", "22:04:31"),
        ("ten", "HH:MM:SS", "22:04:31"),
        ("", "HH:MM:SS", "22:04:31"),
    ],
)
def test_times_refused(cell, words, instead):
    wrong = read_time(cell)
    assert isinstance(wrong, Wrong)
    assert words in wrong.allowed and wrong.instead == instead


def test_dates_of_one_reading():
    for cell, order in [
        ("2026-11-29", ""),
        ("2026/11/29", ""),
        ("29.11.2026", "dmy"),
        ("11/29/2026", "mdy"),
        ("29/11/2026", "dmy"),
    ]:
        assert date_order([cell]) == order
        assert read_date(cell, date_order([cell])) == DAY


def test_one_day_above_twelve_tells_of_all_dates_of_a_file():
    # 03/12 of a file that also has 30/11 is the third of December.
    order = date_order(["03/12/2026", "30/11/2026"])
    assert read_date("03/12/2026", order) == datetime.date(2026, 12, 3)
    order = date_order(["03/12/2026", "03/13/2026"])
    assert read_date("03/12/2026", order) == datetime.date(2026, 3, 12)


@pytest.mark.parametrize("cell", ["03/04/2026", "29/11/26", "2026-02-30", "Nov 29", "46355", "9999-12-31", ""])
def test_dates_refused(cell):
    assert isinstance(read_date(cell, date_order([cell])), Wrong)


def test_two_orders_in_one_file_are_none():
    assert date_order(["29/11/2026", "11/30/2026"]) == ""


def test_numbers_with_point_or_comma():
    assert read_number("7.5", 0, 10, "m", "1") == read_number("7,5", 0, 10, "m", "1") == 7.5
    assert isinstance(read_number("75 %", 0, 1, "", "0.75"), Wrong)
    assert isinstance(read_number("1.000,5", 0, 2000, "", "1"), Wrong)
    assert read_number("11", 0, 10, "m", "1").allowed == "a number from 0 to 10 m"


def test_numbers_of_cards():
    assert read_whole("12") == read_whole("12.0") == 12
    for cell in ("0", "-3", "1.5", "x", ""):
        assert isinstance(read_whole(cell), Wrong)


def test_cameras():
    assert [read_heard(cell) for cell in ("no", "Yes", "OFF", "22:04:31")] == ["no", "yes", "off", 79471.0]
    assert "an empty cell does not mean no" in read_heard("").allowed
    assert isinstance(read_heard("nothing"), Wrong) and isinstance(read_heard("1"), Wrong)


def test_a_time_lies_on_the_nearest_day():
    near = datetime.datetime(2026, 11, 30, 0, 0, 1)
    assert nearest_day(86398.0, near) == datetime.datetime(2026, 11, 29, 23, 59, 58)
    assert nearest_day(2.0, near - datetime.timedelta(seconds=5)) == datetime.datetime(2026, 11, 30, 0, 0, 2)


def test_decimals_of_seconds():
    assert [decimals(cell) for cell in ("22:04:31", "22:04:31.5", "22:04:31,25", "no")] == [0, 1, 2, 0]
