"""Where and when: the numbers of the page are the results', its sentences fit odd cases, and it is whole without a script."""

import re
from html.parser import HTMLParser

import numpy as np
import pytest

from fencecast.estimate.places import worst_first, year_verdicts
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import leading_cause, weak_places
from fencecast.findings.readings import BEST_AT_LEAST
from fencecast.findings.words import interval_text, pd_text
from fencecast.report.cells import cells_of, hundredths, hundredths_of_pd, interval_words, metre_lines, pd_words
from fencecast.report.full import SECTIONS
from fencecast.report.options import ReportOptions
from fencecast.report.sections.section import Source
from fencecast.report.sections.where import where_of
from fencecast.report.sections.wherewords import OF_USE, PATTERNS, class_start, fill, year_start
from fencecast.report.words import what_helps
from fencecast.show.svg.plan import plan_svg
from report.where_sites import data_of, fresh_yard, made, numbers, page_of_site, results_of
from show import invented_results as invented

SITES = (
    "fresh yard", "us, part without data", "section_without_data", "class_without_hours", "one_camera", "one_class",
    "closed_ring",
)  # fmt: skip
FORBIDDEN = re.compile(r"\b(secure|safe|detects|covers|guaranteed)\b", re.IGNORECASE)


class Page(HTMLParser):
    """Elements that a browser would make of a page, with the text in them."""

    def __init__(self, html: str):
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.inside: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        self.inside.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        while self.inside and self.inside.pop() != tag:
            pass

    def handle_data(self, data):
        if not {"script", "style"} & set(self.inside):
            self.words.append(data)


def facts_of(results):
    body = where_of(Source(Results.of(results), ReportOptions()))
    assert body is not None
    return body


@pytest.mark.parametrize("name", SITES)
def test_the_table_has_the_numbers_of_the_results(name):
    """Catches: classes in another order than their numbers, the first run's number where there is a fresh one, the verdict of
    another number, metres of another class. The Dataset is read here by names alone."""
    data = results_of(name)
    facts, results = facts_of(data).facts, Results.of(data)
    classes = worst_first(results)
    assert [row.name for row in facts.rows if not row.year] == [c.name for c in classes]
    segment = facts.segment
    lengths = (data["segment_end_m"] - data["segment_start_m"]).values
    for row, of in zip(facts.rows, classes):
        at = data.isel(weather=of.index, segment=segment)
        start = "pd_fresh" if not np.isnan(float(at["pd_fresh"])) else "pd"
        pd, low, high = (float(at[start + end]) for end in ("", "_low", "_high"))
        assert row.pd == interval_text(pd, low, high)
        need = data.attrs["requirement_pd"]
        verdict = "" if np.isnan(pd) else "weak" if high < need else "meets" if low > need else "undecided"
        assert row.verdict == verdict
        metres = {word: lengths[data["verdict"].isel(weather=of.index).values == word].sum() for word in ("weak", "undecided")}
        assert row.weak == f"{np.floor(metres['weak'] + 0.5):,.0f}"
        assert row.undecided == f"{np.floor(metres['undecided'] + 0.5):,.0f}"
        if data.attrs["units"] == "us":
            assert row.feet.split(" / ")[0] == f"{np.floor(metres['weak'] / 0.3048 + 0.5):,.0f}"
    years = [row for row in facts.rows if row.year]
    assert len(years) == (len(classes) > 1)
    for row in years:
        assert row.pd == interval_text(*(float(data[f"pd_year{end}"][segment]) for end in ("", "_low", "_high")))
        assert (row.verdict or "no data") == year_verdicts(results)[segment]


@pytest.mark.parametrize("name", SITES)
def test_the_data_for_the_script_are_the_numbers_of_the_results(name):
    """Catches: a digit lost in the hexadecimal rows, misses or cameras of another class, a place's segments shifted by one."""
    results = results_of(name)
    data, known = data_of(page_of_site(name)), Results.of(results)
    order = [c.index for c in worst_first(known)]
    count = results.sizes["segment"]
    pd = results["pd"].values[order]
    fresh = results["pd_fresh"].values[order]
    printed = np.where(np.isnan(fresh), pd, fresh)
    for row in range(len(order)):
        for i, number in enumerate(numbers(data["pd"][row], count)):
            assert pd_text(printed[row, i]) == ("no data" if number < 0 else pd_words(number))
        alone = np.nan_to_num(results["pd_camera"].transpose("camera", "weather", "segment").values[:, order[row]], nan=-1)
        best = numbers(data["best"][row][0], count)
        known_best = best >= 0
        assert np.array_equal(known_best, alone.max(axis=0) >= BEST_AT_LEAST)  # below it no camera is of use
        assert np.allclose(alone[best[known_best], np.flatnonzero(known_best)], alone.max(axis=0)[known_best])
        for i in range(0, count, 7):
            cause, share = leading_cause(known, order[row], i)
            lead = data["lead"][row][i]
            assert (None if lead == "n" else data["causes"][int(lead)]) == cause
            if cause is not None:
                assert numbers(data["missed"][row][int(lead)], count)[i] == int(f"{share:.2f}".replace(".", ""))
    places = weak_places(known)
    for number, place in enumerate(places, start=1):
        assert data["places"][number - 1]["code"] == place.code
        assert [i for i, part in enumerate(data["part"]) if part == number] == sorted(place.segments)
        assert order[data["places"][number - 1]["row"]] == place.weather_index
    assert [section["name"] for section in data["sections"]] == [section.name for section in known.sections]


def test_rounding_is_that_of_the_printed_words():
    """Catches: rounding of its own at the ends and halves; compared with the words that every table prints."""
    values = np.array([0.0, 0.004999, 0.005, 0.0149, 0.015, 0.025, 0.5, 0.895, 0.9949999, 0.995, 0.999, 1.0, np.nan])
    for value, found in zip(values, hundredths_of_pd(values)):
        assert pd_words(int(found)) == pd_text(float(value))
    for value, found in zip(values[:-1], hundredths(values[:-1])):
        assert f"{value:.2f}" == f"{found // 100}.{found % 100:02d}"


def test_what_the_box_says_fits_the_metre():
    """Catches: a cause where misses are too few, help for a metre that meets, a camera that is of no use, causes of the year."""
    cells = cells_of(Results.of(results_of("us, part without data")))
    seen = set()
    for row in range(len(cells.rows)):
        for i in range(cells.pd.shape[1]):
            lines = metre_lines(cells, row, i)
            text = "\n".join(lines)
            if cells.pd[row, i] < 0:
                assert lines == ["No data: not armed or not simulated."]
                seen.add("none")
                continue
            assert interval_words(cells, row, i) in lines[0]
            if cells.rows[row].year:
                assert len(lines) == 2 and "Missed" not in text
                seen.add("year")
                continue
            lead = int(cells.lead[row, i])
            assert ("too few to name" in text) == (lead < 0)
            helped = "What usually helps" in text
            assert helped == (lead >= 0 and cells.word[row, i] != "m")
            if helped:
                assert what_helps(cells.causes[lead]) in text
            if lead >= 0:
                assert lines[1].startswith(
                    ("Missed there: " + cells.causes[lead], "Missed there: nearly all " + cells.causes[lead])
                )
            of_use = int((cells.alone[:, row, i] >= OF_USE).sum())
            assert ("No camera alone is of use" in text, "Best camera here" in text, "; next " in text) == (
                of_use == 0, of_use >= 1, of_use == 2,
            )  # fmt: skip
            seen |= {f"helped {helped}", f"of use {of_use}"}
    assert seen == {"none", "year", "helped True", "helped False", "of use 0", "of use 1", "of use 2"}


def test_words_of_names_and_halves_of_years():
    """Catches: 'In after rain', 'Over the these classes', a value read as a pattern."""
    assert class_start("heavy rain") == "In heavy rain"
    assert class_start("after rain") == "After rain"
    assert fill("best", mark="{pd}", pd="0.50") == "Best camera here: {pd}, Pd 0.50 alone."
    whole = invented.yard()
    assert year_start(Results.of(whole)) == "Over the year"
    whole.attrs["weather_classes"] = 9
    assert year_start(Results.of(whole)) == "Over these classes"
    whole.attrs["stress"] = "visibility_m<=100"
    assert year_start(Results.of(whole)) == "Over these stress hours"


@pytest.mark.parametrize("name", [*invented.ALL, "twenty classes"])
def test_the_section_is_whole_for_odd_sites(name):
    """Catches: a site without weak, met or known metres for which the section fails, is empty or says a forbidden word."""
    results = results_of(name)
    body = facts_of(results)
    page = Page(page_of_site(name))
    words = " ".join(page.words)
    assert body.finding and body.finding in words
    assert not FORBIDDEN.search(words)
    assert "nan" not in words.lower().split() and "None" not in words
    assert len(body.facts.rows) == results.sizes["weather"] + (results.sizes["weather"] > 1)
    assert body.facts.many == (results.sizes["weather"] > 12)
    assert body.facts.lines[0] in words
    ids = [attrs["id"] for _, attrs in page.elements if attrs.get("id")]
    assert len(ids) == len(set(ids))


def test_nothing_simulated_is_said_and_not_called_met():
    """Catches: a fence without any data told as meeting the requirement."""
    results = invented.yard(no_data=[s["name"] for s in invented.yard_sections()])
    body = facts_of(results)
    assert body.finding == "Nothing was simulated: no rule watches any section."
    assert body.facts.caption == body.finding
    assert body.facts.lines == ("No data: not armed or not simulated.",)
    assert all(row.pd == "no data" and row.verdict == "" and row.no_data for row in body.facts.rows)


def test_without_a_script_there_is_no_control_and_nothing_is_missing():
    """Catches: a button, slider or radio that does nothing in a browser without scripts."""
    page = Page(page_of_site("fresh yard"))
    controls = [(tag, attrs) for tag, attrs in page.elements if tag in ("input", "button", "select", "textarea")]
    assert all(attrs.get("type") in ("range", "button") for _, attrs in controls)
    assert [attrs for tag, attrs in page.elements if attrs.get("class") == "walk"][0].get("hidden", "missing") is None
    assert not [attrs for _, attrs in page.elements if any(key.startswith("on") or key == "style" for key in attrs)]


def test_sentences_for_the_script_stand_in_one_place():
    """Catches: a sentence of the box written into the script, which would drift from the page as it is sent."""
    from fencecast.report.render import script_text

    text = re.sub(r"//.*|/\*.*?\*/", "", script_text())
    literals = set(re.findall(r'"([^"\n]*)"', text))
    allowed = {"use strict", "no data", " (", " to "}  # and selectors, attributes, path data
    spoken = {literal for literal in literals if re.search(r"[A-Za-z]{2,} [A-Za-z]{2,}", literal)} - allowed
    assert spoken == {"#weather tbody tr"}
    assert all(pattern not in text for pattern in PATTERNS.values())


def test_the_script_stores_and_asks_nothing():
    """Catches: a library, storage, a request, markup from texts; and a script that grew into a program."""
    from fencecast.report.render import script_text

    text = script_text()
    for word in (
        "innerHTML", "outerHTML", "insertAdjacent", "document.write", "eval", "Function(", "localStorage", "sessionStorage",
        "cookie", "location", "history", "fetch", "XMLHttp", "import", "setTimeout",
    ):  # fmt: skip
        assert word not in text, word
    assert len(text.splitlines()) <= 200


def test_sizes():
    """Catches: path data or numbers written long; of the whole page and of what the script knows."""
    for name, page, data in (("fresh yard", 400_000, 80_000), ("twenty classes", 2_000_000, 800_000)):
        html = page_of_site(name)
        known = html.partition('id="where-data">')[2].partition("</script>")[0]
        assert len(html.encode()) < page and 0 < len(known.encode()) < data


@pytest.mark.parametrize("name", ["us_large", "large", "us_units", "tall_fence"])
def test_nothing_of_the_plan_lies_outside_its_figure(name):
    """Catches: the scale's feet cut off below a plan without room for the scale inside."""
    plan = plan_svg(Results.of(results_of(name)))
    lowest = [float(y) for y in re.findall(r'<text x="[^"]*" y="([^"]*)"', plan.svg)]
    assert len(lowest) > 5 and max(lowest) <= plan.height_mm


def test_same_results_same_bytes():
    """Catches: an order that hangs on hashes, a clock."""
    assert made(fresh_yard()) == page_of_site("fresh yard")


def test_the_section_is_the_first():
    assert SECTIONS[0].key == "where"
