"""A log survives a spreadsheet: every way in which one may save it gives the same walks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fencecast.errors import InputError
from fencecast.prove.log.read import read_log
from prove.invented_walks import invented_plan
from prove.walk_logs import log_rows, log_text

PLAN = invented_plan(rounds=1)


def rows():
    found = log_rows(PLAN)
    found[0]["humidity"], found[0]["note"] = "0.85", "fox, far off; left"
    return found


def comma(found):
    return [{**row, "humidity": row["humidity"].replace(".", ",")} for row in found]


def same(text: str | bytes, tmp_path):
    path = tmp_path / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    log = read_log(path, PLAN)
    plain = tmp_path / "plain.csv"
    plain.write_text(log_text(rows()), encoding="utf-8", newline="")
    assert [replace(walk, row=0) for walk in log.walks] == [replace(walk, row=0) for walk in read_log(plain, PLAN).walks]
    assert log.walks[0].conditions == {"humidity": 0.85}


@pytest.mark.parametrize(
    "text",
    [
        log_text(rows(), end="\n"),
        log_text(rows(), end="\r"),
        "\ufeff" + log_text(rows()),
        log_text(rows()).encode("utf-16"),
        log_text(comma(rows()), ";"),
        "sep=;\r\n" + log_text(comma(rows()), ";"),
        log_text(comma(rows()), "\t").encode("utf-16"),
        "\r\n\r\n" + log_text(rows()) + ",,,,\r\n\r\n",
        "\r\n".join(line + ",,," for line in log_text(rows()).split("\r\n")),
        log_text(rows()).replace("trial,place", " Trial ,PLACE"),
        log_text(rows()).replace(",no,", ", NO ,").replace(",walk,", ",Walk ,").replace("front 9", "Front  9"),
    ],
    ids=["lf", "cr", "bom", "utf16", "semicolon", "sep", "tabs", "empty rows", "empty columns", "header", "capitals"],
)
def test_every_way_to_save_it(text, tmp_path):
    same(text, tmp_path)


def test_dates_as_a_spreadsheet_writes_them(tmp_path):
    for change in (lambda d: "{2}.{1}.{0}", lambda d: "{1}/{2}/{0}"):
        found = [{**row, "date": change(row).format(*row["date"].split("-"))} for row in rows()]
        same(log_text(found), tmp_path)


def test_every_cell_in_quotes_and_apostrophes_before_times(tmp_path):
    found = [{**row, "crossed": "'" + row["crossed"]} for row in rows()]
    lines = [",".join(f'"{cell}"' for cell in row.values()) for row in found]
    same(",".join(f'"{name}"' for name in found[0]) + "\n" + "\n".join(lines), tmp_path)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty: the log of the walks"),
        (b"PK\x03\x04rest", "is a spreadsheet"),
        ("trial,place\n1,Zürich".encode("latin-1"), "row 2 holds letters that are no UTF-8"),
        (log_text(rows()).encode("utf-16-le"), "zero bytes"),
        (b"\xff\xfe\x00", "is cut off or no text"),
        (b'trial,place\n1,"front 9\n', "is a quote left open there?"),
        (b"x" * 10_000_001, "more than 10 MB"),
    ],
)
def test_what_is_no_table(data, words, tmp_path):
    path = tmp_path / "log.csv"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_log(path, PLAN)
    assert words in str(caught.value)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(InputError) as caught:
        read_log(tmp_path / "none.csv", PLAN)
    assert "cannot be read: No such file or directory; type the path of the log of the walks" in str(caught.value)
