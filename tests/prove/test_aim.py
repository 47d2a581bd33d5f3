"""`fc.aim` as a whole: which cameras, what is refused, the same twice."""

import pytest

import fencecast as fc
from prove.aimyards import camera, hostile, yard


def test_all_cameras_or_those_named():
    site = yard([camera("K1"), camera("K2"), camera("K3")])
    assert [each.mount.mark for each in fc.aim(site).cameras] == ["K1", "K2", "K3"]
    asked = fc.aim(site, cameras=["K3", "K1"], reader=" North Works ", issue="2b")
    assert [each.mount.mark for each in asked.cameras] == ["K1", "K3"] and (asked.reader, asked.issue) == ("North Works", "2b")
    assert all(each.cost is None and len(each.tapes) == len(each.choice.marks) == 4 for each in asked.cameras)


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ({"cameras": ["K22"]}, r'camera "K22" is not known: did you mean "K2"\? the site has: "K1", "K2"'),
        ({"marks": 2}, "marks 2 is not allowed: a whole number from 3 to 8; type for instance 4"),
        ({"marks": 9}, "marks 9 is not allowed"),
        ({"marks": True}, "marks True is not allowed"),
        ({"reader": "x" * 61}, "^the reader's name 'x+' is not allowed: text of 0 to 60 printable characters"),
        ({"reader": "a\nb"}, "is not allowed"),
        ({"issue": " "}, "is not allowed: text of 1 to 60 printable characters"),
    ],
)
def test_what_is_refused(how, said):
    with pytest.raises(fc.UsageError, match=said):
        fc.aim(yard([camera("K1"), camera("K2")]), **how)


def test_a_site_without_cameras_is_refused():
    mounting = [{"name": "masts", "points_m": [[0.0, 2.0], [40.0, 2.0]], "heights_m": [4.0]}]
    with pytest.raises(fc.UsageError, match=r"no \[\[camera\]\] yet"):
        fc.aim(yard([], mounting=mounting, rule=[{"kind": "line", "perimeter": "south"}]))


def test_the_same_site_gives_the_same_sheets():
    """Catches: an order that depends on a set or on the hash of a text."""
    one, other = fc.aim(hostile()), fc.aim(hostile())
    assert one.cameras == other.cameras


def test_no_sheet_for_a_camera_that_was_not_asked():
    sheets = fc.aim(yard([camera("K1"), camera("K2")]), cameras=["K1"])
    assert sheets.of("K1").mount.mark == "K1"
    with pytest.raises(fc.UsageError, match='camera "K2" is not known'):
        sheets.of("K2")
