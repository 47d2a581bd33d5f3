"""Sentences that both editions say, and that each edition says them."""

from __future__ import annotations

import html
import re

import pytest

import fencecast as fc
from fencecast.report import shared
from show import invented_results

EDITIONS = ("full", "client")


def text_of(page: str) -> str:
    body = re.sub(r"<(style|script)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


@pytest.mark.parametrize("edition", EDITIONS)
def test_walks_are_for_each_place_and_weather(edition):
    """Catches: a number of walks that is read as the total of the test."""
    text = text_of(fc.report(invented_results.yard(), edition))
    assert (
        "29 walks for each place and each kind of weather that is to be shown, without a miss, show Pd 0.90 at 95 % there; 46 "
        "with one miss, 61 with two."
    ) in text


def test_one_walk_is_one():
    """Catches: `1 walks`."""
    assert shared.walks_finding(0.05, 0.95).startswith("1 walk for each place") and " shows Pd 0.05" in shared.walks_finding(
        0.05, 0.95
    )
    assert "fails a test of 1 walk without" in shared.walks_lines(0.05, 0.95)[1]


@pytest.mark.parametrize("edition", EDITIONS)
def test_results_without_a_rate_of_noise_have_a_section_on_proof(edition):
    """Catches: results of a part that has no alarms from noise, as an error or as a number."""
    results = invented_results.yard()
    if "noise_alarms_per_day" in results:
        results = results.drop_vars("noise_alarms_per_day")
    text = text_of(fc.report(results, edition))
    assert "How to prove it" in text and "sensor noise alone" not in text


def test_one_metre_meets_and_two_meet():
    assert shared.meets_lines(1.2, 40.0, 2, "si") == ["1 m of 40 m meets the requirement in every kind of weather."]
    assert shared.meets_lines(2.0, 40.0, 1, "si") == ["2 m of 40 m meet the requirement in it."]
    assert shared.meets_lines(0.2, 40.0, 2, "si") == ["No metre meets the requirement in every kind of weather."]
    assert shared.meets_lines(39.9, 40.0, 2, "si") == []


def test_signing_is_reading():
    """Catches: a signature under `accepted` that is read as consent to weak places."""
    assert "Signing means: read. It accepts no weak place." in text_of(fc.report(invented_results.yard(), "client"))


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(("need", "said"), [(0.9, ("100", "90", "90 %")), (0.995, ("1,000", "995", "99.5 %"))])
def test_the_required_number_is_told_as_a_count(edition, need, said):
    """Catches: `0.90` taken for nine tenths of the fence."""
    text = text_of(fc.report(invented_results.yard(requirement=need), edition))
    of, part, percent = said
    assert f"of {of} crossings of any metre, in any weather, {part} must raise an alarm; not {percent} of the fence" in text
    assert f": fewer than {part} in {of}" in text


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_list_of_words_says_the_same_of_verdicts(edition):
    text = text_of(fc.report(invented_results.yard(), edition))
    for words in (*shared.verdict_meanings(0.9).values(), shared.pd_meaning(0.9, "90 in 100"), shared.interval_meaning(0.95)):
        assert words in text
