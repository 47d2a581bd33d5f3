"""Nuisance alarms in both editions of the report, and what they say where nobody asked for them."""

from __future__ import annotations

import html
import re

import pytest

import fencecast as fc
from show import invented_nuisance, invented_results
from show.wording import wrong_words

TOKEN = "Qzx"


def text_of(page: str) -> str:
    body = re.sub(r"<(style|script)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def named():
    """Results whose causes have a user's names."""
    stimuli = [(f"{TOKEN} {name}", kind, family, night) for name, kind, family, night in invented_nuisance.SIX]
    lane = invented_results.one_camera()
    return invented_nuisance.asked(lane, stimuli=stimuli, ceiling=6.0, bad_ceiling=3.0, met="not met")


@pytest.mark.parametrize("edition", ["full", "client"])
def test_both_editions_say_how_many_how_bad_and_whether_ceilings_are_met(edition):
    """Catches: numbers of a section that is lost, a reader who is not told that they rest on judgement."""
    page = fc.report(named(), edition)
    text = text_of(page)
    assert "Nuisance alarms: 5.0 a night (3.1 to 11); 19 nights in 20 have 9 (6 to 16) or fewer" in text
    assert "The ceiling of 6 a night on average is undecided: 3.1 to 11 lies across it." in text
    assert "The ceiling of 3 a night on 19 nights in 20 is not met, even by the lower end." in text
    assert "About 1,800 a year (1,100 to 3,800), counted before anybody looks at the picture" in text  # 365.25 nights
    assert "Nuisance alarms a night on 19 nights in 20, at most" not in text  # the fixture's site file names no ceiling
    assert "How often a year somebody tries to get in" in text and "a log on site." in text
    log = {"full": "Have alarms logged on the finished site: section", "client": "Who logs alarms on the finished site"}[edition]
    assert log in text
    assert "judgement until a log" in text and "How often it will alarm for nothing." in text
    assert "not asked" not in text and "is not predicted here" not in text and "Nuisance alarms (animals, plants" not in text
    assert not wrong_words([text])


@pytest.mark.parametrize("edition", ["full", "client"])
def test_where_nobody_asked_both_editions_say_so(edition):
    """Catches: a number of noise alone that is read as all alarms; a section without numbers."""
    text = text_of(fc.report(invented_results.one_camera(), edition))
    assert "Nuisance alarms were not asked for" in text and "not asked; this number is sensor noise alone" in text
    assert "is not predicted here" in text and "no intruder raised" not in text
    assert "logged" not in text and "a ceiling" not in text and "what the rates" not in text


def test_the_client_edition_names_no_cause_and_no_camera():
    """Catches: a user's name of a stimulus, which may say where it is; the figure; alarms by camera."""
    results = named()
    client, full = (fc.report(results, edition) for edition in ("client", "full"))
    assert TOKEN not in client and "fig-nuisance" not in client
    assert TOKEN in full and 'class="fig-nuisance"' in full and "Nuisance alarms by camera, each alone" in text_of(full)


def test_the_full_edition_has_the_tables_of_the_console():
    """Catches: a class or the year that is not there, a log from the site that is not shown."""
    log = invented_nuisance.log_of("cat", 7, 5, 2.0, (0.714, 0.232, 1.667), (0.9227, 0.391, 1.679))
    text = text_of(fc.report(invented_nuisance.asked(invented_results.one_camera(), soak=[log]), "full"))
    for said in (
        "insects near the lens",
        "0.92 (0.39 to 1.7)",
        "guide: nuisance, first 90 days",
        "19 nights in 20",
        "except cats, which were logged for 7 nights",
        "insects near the lens first: most alarms without a log.",
        "UFGS-13703N",
    ):
        assert said in text
