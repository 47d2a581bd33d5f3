"""The list of walkers: read, and refused with all that is wrong."""

from __future__ import annotations

import pytest

from fencecast.errors import InputError
from fencecast.prove.log.walked import Walker
from fencecast.prove.log.walkersfile import read_walkers


def written(tmp_path, text):
    path = tmp_path / "walkers.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_walkers(tmp_path):
    found = read_walkers(written(tmp_path, "walker;stature_m;clo;note\nA;1,82;1.5;tall\nB;1.70;;\nC;;;\n"))
    assert found == {"A": Walker("A", 1.82, 1.5, "tall"), "B": Walker("B", 1.70, None, "")}


def test_all_that_is_wrong(tmp_path):
    with pytest.raises(InputError) as caught:
        read_walkers(written(tmp_path, "walker,stature_m,clo\nA,182,1\nA,1.8,\n,1.7,\nB,1.7,warm\nD,,2\n"))
    assert [str(each) for each in caught.value.problems] == [
        'row 2 stature_m = "182" is not allowed: a number from 0.5 to 2.5 m; type for instance 1.80',
        'row 3 walker = "A" stands there twice: row 2 has this walker already; type for instance B',
        "row 4 walker is missing: the name or letter that the log has for this walker; type for instance A",
        'row 5 clo = "warm" is not allowed: a number from 0 to 8 clo; type for instance 1.5',
        "row 6 stature_m is missing: a number from 0.5 to 2.5 m; type for instance 1.80",
    ]


def test_no_walker(tmp_path):
    with pytest.raises(InputError, match=r"has no walker: a row for each"):
        read_walkers(written(tmp_path, "walker,stature_m,clo,note\nA,,,\nB,,,\n"))
    with pytest.raises(InputError, match='column "stature_m" missing'):
        read_walkers(written(tmp_path, "walker,height\nA,1.8\n"))
