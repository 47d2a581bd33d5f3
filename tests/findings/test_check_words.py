"""The words of the design review: all there, none of those that a prediction must not use, readings of its counts and titles."""

import re

import pytest

import fencecast as fc
from fencecast.findings.blocks import words_of
from fencecast.findings.check import check_blocks, check_title
from fencecast.findings.checksentences import fix_text, measured_text, places_text
from fencecast.findings.checkwords import WORDS
from fencecast.findings.sitecheckwords import LAND_WHY
from fencecast.review.finding import Finding, Span
from fencecast.review.review import check
from fencecast.site.review import IDS, LAND
from findings.test_sentences import NEVER
from review.yards import CONFIGS, A, base


def test_every_check_has_its_words_in_the_order_of_the_checks():
    assert list(WORDS) == list(IDS)
    assert set(LAND_WHY) == set(LAND) - {"own"}


@pytest.mark.parametrize("id", IDS)
def test_no_word_that_a_prediction_must_not_use(id):
    text = " ".join(WORDS[id])
    assert not [word for word in NEVER if re.search(rf"\b{re.escape(word)}\b", text, re.IGNORECASE)]
    assert text.count("{") == text.count("}") and not WORDS[id].fix.endswith(".")
    assert WORDS[id].why.endswith((".", "}"))


def test_places_are_coded_as_everywhere():
    site = fc.load_site(CONFIGS / "estuary-yard.toml")
    assert places_text(site, [Span(3, 0.0, 9.0), Span(0, 44.5, 48.0)]) == "D 0–9 m, A 45–48 m"
    assert places_text(site, [Span(1, 10.0, 10.0)]) == "B 10 m"


def test_the_reversed_section_says_who_stands_on_the_other_side():
    site = base()
    facts = {"inside": "right", "outside": 2, "beside": 2}
    finding = Finding("inside-reversed", "warn", "section", "fence", 0.0, "", 0.2, facts=facts)
    assert measured_text(site, finding) == 'inside = "right" points away from 2 of 2 cameras beside it'


def test_titles_count_stops_and_name_what_most_metres_are_lost_by():
    assert check_title(check(CONFIGS / "estuary-yard.toml")) == "Three stops: 12 m out of reach, 9 m under masts"
    assert check_title(check(base())) == "Nothing that must be mended before a run"
    assert check_title(check(base(tolerance={}))) == "No stop, 1 warning"
    assert check_title(check(base(cameras=[A | {"position_m": [0.0, 1.5]}]))) == "One stop: 7 m under masts"


def test_in_view_is_said_not_to_be_the_requirement():
    """Catches: a percentage that an owner could take for the answer."""
    said = words_of(check_blocks(check(CONFIGS / "estuary-yard.toml")))
    assert "waist, 1 m  159 m  98 %  129 m  79 %" in said
    assert "In view is not the requirement. On 18 m even a clear night without noise leaves less than Pd 0.9." in said


def test_feet_stand_behind_metres_when_units_are_us():
    """Catches: a length in metres alone; ends of places turned into feet, which nobody could type. 7 m are 23 ft."""
    site = base(cameras=[A | {"position_m": [0.0, 1.5]}], units="us")
    finding = next(f for f in check(site).findings if f.id == "under-mast")
    assert measured_text(site, finding).startswith("7.0 m (23 ft) of fence (B 0–7 m) with")
    assert "m (" not in measured_text(base(), finding).split("(")[0]
    said = words_of(check_blocks(check(site)))
    assert "Geometric coverage of 30 m (98 ft)" in said and "23 m (75 ft)" in said and "m/s (" not in said


def test_what_has_no_limit_prints_none():
    found = check(base(requirement={}))
    said = words_of(check_blocks(found))
    assert "pd is not typed: 0.90 is taken\n" in said


def test_a_camera_that_was_measured_is_not_simply_tilted_back():
    """Catches: `turn it up` from one command and `tilt it down` from another; both ways said of a camera that nobody measured."""
    hung = {"depression_deg": 4.0, "depression_sd_deg": 0.2, "bearing_sd_deg": 0.2}
    site = base(a=hung, b={"depression_deg": 4.0}, built={"date": "2026-11-30", "readings": {"A": 8}})
    said = {f.name: fix_text(site, f) for f in check(site).findings if f.id == "sky"}
    assert "keep it as hung, or return it to the drawing" in said["A"] and said["B"] == WORDS["sky"].fix
    refused = base(a=hung, built={"date": "2026-11-30", "readings": {"A": 8}, "not_fitted": ["A"]})
    assert [fix_text(refused, f) for f in check(refused).findings if f.id == "sky"] == [WORDS["sky"].fix]


def test_the_register_says_how_measured_cameras_hang():
    """Catches: `every camera hangs exactly as drawn` of a site as built; those that nobody measured left out."""
    from fencecast.report.sections.registerrows import _cameras

    hung = {"depression_sd_deg": 0.3, "bearing_sd_deg": 0.2}
    row = _cameras(base(a=hung, built={"date": "2026-11-30", "readings": {"A": 8}}))[-1]
    left = "left uncertain by 0.2 to 0.3 degrees (one standard deviation)"
    assert row.value.startswith(f"as measured on 2026-11-30: A; {left}; B: ")
    assert row.source == "site file" and _cameras(base())[-1].what == "Mounting errors, one sigma"
