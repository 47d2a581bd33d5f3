"""The full edition as pages: what every page holds, whatever the site is like."""

import re

import pytest

from fencecast.report.making import report
from report.full_sites import MORE, PAGES, facts_of, page_of, results_of, taken_apart, walked
from show import invented_comparisons

FORBIDDEN = re.compile(r"\b(secure|safe|detects|covers|guaranteed)\b", re.IGNORECASE)
FEW = ("yard", "mended_us", "hourly", "reviewed")


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_well_formed_and_its_links_meet(name):
    """Catches: a tag that stays open, an id twice, a link to a section that is not there."""
    page = taken_apart(name)
    assert not page.wrong
    assert len(page.ids) == len(set(page.ids))
    assert {href for href, _ in page.links} <= {f"#{each}" for each in page.ids}


@pytest.mark.parametrize("name", PAGES)
def test_sections_are_counted_and_links_say_their_number(name):
    """Catches: numbers counted over what is not there, a decision that names another section than its link leads to."""
    sections = facts_of(name).sections
    numbers = [s.number for s in sections]
    letters = [n for n in numbers if n.isalpha()]
    counted = [n for n in numbers if n.isdigit()]
    assert counted == [str(k + 1) for k in range(len(counted))] and letters == ["A", "B"][: len(letters)]
    assert numbers == counted + letters
    by_key = {f"#{s.key}": s.number for s in sections}
    said = [(href, text) for href, text in taken_apart(name).links if text.startswith(("section ", "annex "))]
    assert said and all(text.split(" ")[1] == by_key[href] for href, text in said)
    headings = [" ".join(text.split()) for level, text in taken_apart(name).headings if level == 2][1:]
    assert headings == [f"{s.number} {s.heading}" for s in sections]


@pytest.mark.parametrize("name", PAGES)
def test_no_heading_stands_over_nothing(name):
    """Catches: a heading that stays when its data are missing."""
    page = taken_apart(name)
    for k, (level, text) in enumerate(page.headings):
        holds = bool(page.below[k].strip())
        opens = k + 1 < len(page.headings) and page.headings[k + 1][0] > level
        assert text.strip() and (holds or opens), text


@pytest.mark.parametrize("name", PAGES)
def test_templates_see_plain_values_and_no_forbidden_word(name):
    """Catches: results or a site in the facts, a number that a template would round, a word that promises."""
    for path, value in walked(facts_of(name)):
        assert value is None or isinstance(value, (str, int, float, bool)), path
    assert not FORBIDDEN.search(taken_apart(name).said)


@pytest.mark.parametrize("name", FEW)
def test_the_same_results_give_the_same_bytes(name):
    """Catches: a clock, a hash order, an id that is counted on."""
    assert report(results_of(name)) == page_of(name)


def test_no_text_is_a_python_object_or_a_missing_number():
    """Catches: 'nan', 'None', a tuple or an object printed."""
    for name in MORE:
        said = taken_apart(name).said
        assert not re.search(r"\bnan\b|\bNone\b|<[^<]* object at|\bFalse\b(?! alarms)|\bTrue\b", said), name


def test_missing_data_leave_their_sections_out():
    """Catches: an empty section, and one that is lost although its data are there."""
    keys = {name: [s.key for s in facts_of(name).sections] for name in PAGES}
    assert "change" in keys["mended"] and "change" in keys["no_remedy_found"] and "change" not in keys["yard"]
    assert "year" in keys["hourly"] and "year" not in keys["yard"]
    assert "review" in keys["reviewed"] and "review" not in keys["yard"]
    assert "depends" in keys["yard"] and "depends" not in keys["bare"]
    assert "why" not in keys["nothing_watched"] and "stretches" not in keys["nothing_watched"]
    assert "What drives single crossings" not in taken_apart("yard").said and "Yards as built" not in taken_apart("yard").said
    assert all({"prove", "register", "limits", "words", "provenance"} <= set(each) for each in keys.values())


def test_the_site_file_is_in_unless_the_sender_leaves_it_out():
    """Catches: an option that hides the heading alone."""
    results = results_of("one_camera")
    shown, hidden = report(results), report(results, site_file=False)
    assert "netd_mk = 50" in shown and "The site file as it was run" in shown
    assert "netd_mk = 50" not in hidden and "The site file as it was run" not in hidden


def test_a_comparison_is_a_part_of_what_would_change_it():
    """Catches: a comparison that is taken and not told."""
    results = results_of("one_camera")
    other = invented_comparisons.comparison(results)
    other["pd_difference_p_holm"] = other["pd_difference"] * 0.0 + 1.0
    page = report(results, compare=other)
    assert "6 mm against 3 mm" in page and "better on" in page
