"""What is said of a site that walks have calibrated."""

from __future__ import annotations

import pytest

from fencecast.cautions import NOT_MODELLED, not_modelled
from fencecast.findings.calibration import (
    band_sentence,
    calibrated_line,
    calibration_of,
    dates_words,
    judged_words,
    n50_short,
    rests_sentence,
    unwalked_sentence,
)
from fencecast.findings.dependence import Dependence, dependence_sentence
from fencecast.report.words import UNSAID, unsaid
from show.fence.test_picture_walkband import FACTS

ONE = FACTS | {"walks": 1, "walkers": 1, "places": 1, "weather": ["at dusk"], "dates": ["2026-11-29", "2026-12-03"]}


def test_what_a_run_rests_on():
    """Catches: walks, people and places that do not agree in number, N50 without its interval."""
    assert calibrated_line(FACTS) == (
        "Calibrated by 36 walks of 2 people at 6 places on 2026-11-29 in warm dusk: N50 2.6 (2.1 to 3.3 for people in general); "
        "correlation 0.33 (0.00 to 0.70)."
    )
    assert calibrated_line(ONE).startswith("Calibrated by 1 walk of 1 person at 1 place on 2026-11-29 and 2026-12-03 at dusk: ")
    assert dates_words([f"2026-11-0{day}" for day in (3, 1, 2, 4)]) == "on 4 days from 2026-11-01 to 2026-11-04"


def test_what_walks_did_not_say_is_no_interval():
    """Catches: a lower end that is the prior's printed as a result, `known` where the fit says `hardly known`."""
    above = FACTS | {"cycles_50": 0.81, "cycles_50_low": 0.42, "cycles_50_high": 1.334, "only_from_above": True}
    said = calibrated_line(above | {"correlation_hardly_known": True})
    assert "N50 at most 1.33, no miss says more: below that a judgement" in said and "(0.4" not in said and "0.42" not in said
    assert said.endswith("; correlation hardly known, 0.33 on average.") and "0.70" not in said
    below = FACTS | {"only_from_below": True}
    assert "N50 at least 2.10, no alarm says more: above that a judgement" in calibrated_line(below)
    neither = above | below
    assert "do not say what N50 is" in calibrated_line(neither)
    titles = [n50_short(each) for each in (FACTS, above, below, neither)]
    assert titles == ["N50 2.6", "N50 at most 1.33", "N50 at least 2.10", "an N50 that walks do not say"]
    slopes = [Dependence("clear night", {"n50": -0.2, "clutter": 0.0, "threshold": 0.0, "netd": 0.0})]
    closing = dependence_sentence(slopes, calibrated=True, judged=judged_words(above))
    assert "on its upper side alone, the other is a judgement; clutter" in closing and judged_words(FACTS) == ""


def test_weather_that_nobody_walked_in_is_named():
    """Catches: fog that seems to have been walked, a sentence about nothing."""
    said = unwalked_sentence(["warm dusk", "fog", "rain"], FACTS)
    assert said.startswith("N50 was walked in warm dusk alone; fog and rain keep every other uncertainty")
    assert unwalked_sentence(["warm dusk", "fog"], FACTS).count("keeps every") == 1
    assert "5 other classes keep" in unwalked_sentence(["warm dusk", *"abcde"], FACTS)
    assert unwalked_sentence(["warm dusk"], FACTS) == ""


def test_the_two_bands_are_explained():
    """Catches: one band said for both, the wrong confidence."""
    said = band_sentence(0.9, FACTS)
    assert "90 % interval" in said and "every segment, walked or not" in said and "0.15 in ln N50" in said
    assert "one of many" in said and "nobody climbed or hid" in rests_sentence()


def test_n50_is_no_judgement_where_walks_calibrated_it():
    """Catches: two sentences of one report that contradict each other."""
    open_text, walked = " ".join(NOT_MODELLED), " ".join(not_modelled(False, calibrated=True))
    assert "until walk tests calibrate it" in open_text and "until walk tests calibrate it" not in walked
    assert len(not_modelled(True, calibrated=True)) == len(not_modelled(True)) and not_modelled(False) == NOT_MODELLED
    slopes = [Dependence("clear night", {"n50": -0.2, "clutter": 0.0, "threshold": 0.0, "netd": 0.0})]
    assert "is a judgement until walk tests" in dependence_sentence(slopes)
    assert "N50, the detail that the analytics need, is from walks on this site" in dependence_sentence(slopes, calibrated=True)
    assert unsaid(False) == UNSAID and "walks on site left open" in " ".join(text for _, text in unsaid(False, calibrated=True))


@pytest.mark.parametrize("attrs", [{}, {"calibration": ""}])
def test_results_without_walks_say_nothing(attrs):
    """Catches: a sentence about walks in every report."""
    assert calibration_of(attrs) is None
