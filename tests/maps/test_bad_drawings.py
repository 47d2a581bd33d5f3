"""What is said of bad drawings, word by word; whole or nothing. Catches a reader that swallows a fault, and a sentence that
names no place or no way out."""

from __future__ import annotations

import pytest

from fencecast.errors import InputError
from fencecast.maps.asked import Asked
from fencecast.maps.frommap import make_site
from maps.bad_drawings import BAD, GOOD


@pytest.mark.parametrize("bad", BAD, ids=lambda bad: bad.name)
def test_what_is_said(bad, tmp_path):
    path = tmp_path / (bad.file or "nowhere.geojson")
    if bad.file:
        path.write_bytes(bad.content)
    asked = Asked(**bad.options)
    if bad.wrong:
        with pytest.raises(InputError) as caught:
            make_site([str(path)], asked)
        assert list(caught.value.problems) == bad.wrong
        return
    report = make_site([str(path)], asked).report
    passed = {f"{label}: {name}" for label, names in report.passed.items() for name in names}
    assert set(bad.note) <= set(report.notes) | passed
    assert set(bad.left) <= {f"{label}: {why}" for label, why in report.left}


def test_there_are_fifty_kinds_and_more():
    assert len({bad.name for bad in BAD}) == len(BAD) >= 50


def test_nothing_is_said_of_a_good_one(tmp_path):
    """The yard that the bad ones are made from: catches a check that is loud about nothing."""
    (tmp_path / "y.geojson").write_bytes(GOOD)
    report = make_site([str(tmp_path / "y.geojson")], Asked()).report
    assert (report.wrong, report.notes, report.left, report.passed) == ([], [], [], {})
    assert len(report.taken) == 9
