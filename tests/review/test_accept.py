"""Acceptance: what was accepted stays closed until it is worse, overdue, or about something else."""

import datetime

import pytest

import fencecast as fc
from fencecast.findings.blocks import words_of
from fencecast.findings.check import accept_lines, check_blocks, check_object
from review.yards import A, base

TODAY = datetime.date(2026, 11, 29)
WORDS = {"check": "under-mast", "object": "camera A", "reason": "a guard stands there", "by": "A. Reviewer", "on": TODAY}


def site_with(at=(0.0, 1.5), **accept):
    return base(cameras=[A | {"position_m": list(at)}], accept=[WORDS | accept])


def reviewed(today=TODAY, at=(0.0, 1.5), **accept):
    return fc.check(site_with(at, **accept), today=today)


def mast(found):
    return next(f for f in found.findings if f.id == "under-mast")


def test_an_accepted_stop_is_closed_and_counted():
    """Catches: an acceptance that is read and does nothing. Seven metres lie under the mast."""
    found = reviewed(measured=7.0)
    assert not mast(found).open and mast(found).accepted.by == "A. Reviewer"
    assert "1 accepted" in words_of(check_blocks(found))
    json = next(f for f in check_object(found)["findings"] if f["id"] == "under-mast")
    assert json["accepted"] == {"reason": "a guard stands there", "by": "A. Reviewer", "on": "2026-11-29"} and not json["again"]


@pytest.mark.parametrize(
    ("measured", "again"),
    [(7.0, False), (6.6, False), (6.3, True), (20.0, False), (None, False)],
)
def test_it_opens_again_when_it_is_worse_by_a_tenth_or_half_a_metre(measured, again):
    """7.0 m now: 0.5 m or 10 % of what was accepted, the larger, may be added to it (6.6 + 0.66, 6.3 + 0.63)."""
    found = reviewed(**({} if measured is None else {"measured": measured}), until=TODAY)
    assert mast(found).again is again and mast(found).open is again


def test_it_opens_again_after_its_last_day():
    until = TODAY + datetime.timedelta(days=3)
    assert not mast(reviewed(until, until=until)).open
    assert mast(reviewed(until + datetime.timedelta(days=1), until=until)).again


def test_worse_is_smaller_where_smaller_is_worse():
    """Catches: a ceiling that fell from 0.80 to 0.73 taken for better."""
    from fencecast.review.accept import is_worse
    from fencecast.review.finding import Finding

    low = Finding("resolution", "stop", "section", "fence", 0.70, "", 0.9, worse=-1)
    assert is_worse(low, 0.80) and not is_worse(low, 0.75) and not is_worse(low, 0.5)


def test_what_is_not_found_any_more_is_said():
    """Catches: acceptances that pile up in a file after the fault is mended."""
    found = reviewed(at=(-9.0, 1.5), measured=7.0)
    assert [(accept.check, name) for accept, name in found.stale] == [("under-mast", "camera A")]
    assert "not found any more: under-mast  camera A" in words_of(check_blocks(found))


def test_a_star_accepts_notes_alone():
    site = site_with(object="*")
    assert mast(fc.check(site, today=TODAY)).open
    note = site_with((-8.0, 1.5), check="one-camera", object="*")
    assert not next(f for f in fc.check(note, today=TODAY).findings if f.id == "one-camera").open


def test_the_lines_to_paste_accept_what_they_were_printed_for():
    """Catches: an object in the printed lines that the finding does not have."""
    site = site_with(check="no-fog", object="the site")
    found = mast(fc.check(site))
    pasted = accept_lines(found).replace("WHY IT MAY STAY", "agreed in the meeting").replace("DATE", "2026-11-29")
    again = fc.check(fc.parse_site(f"{site.text}\n{pasted}\n"), today=TODAY)
    assert not mast(again).open
