"""Every number of the full edition against the Dataset, read here by the names of its variables and by nothing of the report."""

import math
import re

import numpy as np
import pytest
from scipy.stats import binom

from report.full_sites import STEPS, facts_of, mended, results_of, section_of

SITES = ("yard", "mended", "part_without_data", "closed_ring", "requirement_0.99", "one_class")


def pd_as_printed(value: float) -> str:
    if math.isnan(value):
        return "no data"
    return ">0.99" if value >= 0.995 else "<0.01" if value < 0.005 else f"{value:.2f}"


def with_interval(value: float, low: float, high: float) -> str:
    return f"{pd_as_printed(value)} ({min(max(low, 0), 1):.2f} to {min(max(high, 0), 1):.2f})"


def numbers(results, row: int, segment: int) -> tuple[float, float, float]:
    """Fresh where there are fresh ones."""
    fresh = results["pd_fresh"].values[row, segment]
    names = ("pd", "pd_low", "pd_high") if np.isnan(fresh) else ("pd_fresh", "pd_fresh_low", "pd_fresh_high")
    return tuple(float(results[name].values[row, segment]) for name in names)


def word(low: float, high: float, need: float) -> str:
    return "weak" if high < need else "meets" if low > need else "undecided"


def letters_of(results) -> dict[str, str]:
    """Letter of each section, by the codes of the places that the strip has: none is the first of a mark, or P."""
    sections = list(dict.fromkeys(map(str, results["section"].values)))
    taken = {str(mark)[0].upper() for mark in results["camera"].values} | {"P"}
    free = [letter for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if letter not in taken]
    return dict(zip(sections, free))


@pytest.mark.parametrize("name", SITES)
def test_a_card_has_the_lowest_metre_of_its_place_in_each_class(name):
    """Catches: another class's number, a verdict of the main run beside a fresh number, a place's mean."""
    results, need = results_of(name), float(results_of(name).attrs["requirement_pd"])
    names = [str(each) for each in results["weather"].values]
    from fencecast.estimate.results import Results

    places = {place.code: place for place in Results(results).weak_places}
    why = section_of(name, "why").facts
    assert len(why.cards) == len(why.places) == len(places)
    for card, row in zip(why.cards, why.places):
        place = places[card.code]
        assert card.segment == place.segment and row.weather == place.weather
        for printed in card.rows:
            k = names.index(printed.weather)
            pd = results["pd"].values[k, list(place.segments)]
            segment = place.segment if printed.weather == place.weather else place.segments[int(np.nanargmin(pd))]
            value, low, high = numbers(results, k, segment)
            assert printed.pd == with_interval(value, low, high)
            assert printed.verdict == word(low, high, need)
        assert row.pd == next(each.pd for each in card.rows if each.weather == row.weather)
        lengths = (results["segment_end_m"] - results["segment_start_m"]).values[list(place.segments)]
        assert card.length == row.length == f"{math.floor(lengths.sum() + 0.5):,} m"


@pytest.mark.parametrize("name", SITES)
def test_causes_of_a_place_are_shares_of_its_misses_by_length(name):
    """Catches: shares of one metre, of another class, or not of the misses."""
    results = results_of(name)
    from fencecast.estimate.results import Results

    places = {place.code: place for place in Results(results).weak_places}
    seen = 0
    for card in section_of(name, "why").facts.cards:
        place = places[card.code]
        if card.causes.startswith("Misses are too few"):
            continue
        part = list(place.segments)
        k = [str(each) for each in results["weather"].values].index(place.weather)
        lengths = (results["segment_end_m"] - results["segment_start_m"]).values[part]
        shares = (results["miss_share"].transpose("cause", "weather", "segment").values[:, k, part] * lengths).sum(axis=1)
        shares = shares / shares.sum()
        for cause, share in zip(map(str, results["cause"].values), shares):
            said = re.search(rf"{cause} (\d+) %", card.causes)
            if said:
                seen += 1
                assert int(said[1]) == round(100 * share)
            else:
                assert share < 0.005 or share >= 0.995
    assert seen


@pytest.mark.parametrize("name", (*SITES, "short_sections", "section_without_data"))
def test_the_annex_holds_every_metre_with_its_verdict(name):
    """Catches: a stretch across two verdicts, a metre that is left out, a letter of another class."""
    results, annex = results_of(name), section_of(name, "stretches").facts
    letters = {letter: section for section, letter in letters_of(results).items()}
    starts, sections = results["segment_start_m"].values, results["section"].values
    ends, order = results["segment_end_m"].values, [str(each) for each in results["weather"].values]
    held = np.zeros(len(starts), dtype=int)
    for row in annex.rows:
        letter, start, end = re.fullmatch(r"([A-Z]+) ([\d,]+)–([\d,]+) m", row.code).groups()
        start, end = (float(each.replace(",", "")) for each in (start, end))
        inside = [
            k for k in range(len(starts))
            if sections[k] == letters[letter] and starts[k] >= start - 0.51 and ends[k] <= end + 0.51
        ]  # fmt: skip
        held[inside] += 1
        for weather, (pd, mark) in zip(annex.classes, row.cells):
            cell = results["pd"].values[order.index(weather), inside]
            assert pd == ("no data" if np.isnan(cell).all() else pd_as_printed(float(np.nanmin(cell))))
            verdicts = set(results["verdict"].values[order.index(weather), inside])
            assert verdicts == ({"weak"} if mark == "w" else {"undecided"} if mark == "u" else verdicts - {"weak", "undecided"})
    assert (held == 1).all()


def test_ten_per_cent_is_the_slope_times_its_logarithm():
    """Catches: the slope itself, ten per cent of it, another factor's column."""
    results, facts = results_of("yard"), section_of("yard", "depends").facts
    table = next(block for block in facts.blocks if hasattr(block, "columns"))
    order = [str(each) for each in results["weather"].values]
    for row in table.rows:
        k = order.index(row[0])
        for cell, name in zip(row[1:], ("n50", "clutter", "threshold", "netd")):
            change = math.log(1.1) * float(results[f"dpd_dln_{name}"].values[k])
            expected = "less than 0.001" if abs(change) < 0.0005 else f"{change:+.3f}".replace("-", "−")
            assert cell == expected
    steepest = order[int(np.argmin(results["dpd_dln_n50"].values))]
    assert section_of("yard", "depends").finding.startswith(
        f"If the analytics need 10 % more detail than assumed, the mean Pd moves by −0.019 in {steepest}"
    )


@pytest.mark.parametrize("name", ("yard", "requirement_0.99", "requirement_0.50"))
def test_walks_are_the_fewest_that_show_the_requirement(name):
    """Catches: two-sided limits, a walk too few. Reference: the binomial distribution of scipy, one number of walks at a time."""
    need = float(results_of(name).attrs["requirement_pd"])
    found = section_of(name, "prove")
    said = [int(each.replace(",", "")) for each in re.findall(r"(\d[\d,]*) (?:walks? (?:without|for each)|with one|with two)", found.finding)]
    expected = []
    for misses in (0, 1, 2):
        n = misses + 1
        while binom.cdf(misses, n, 1.0 - need) > 0.05:
            n += 1
        expected.append(n)
    assert said == expected
    better = 1.0 - 0.5 * (1.0 - need)
    fails = 1.0 - binom.pmf(0, expected[0], 1.0 - better)
    assert f"in {100 * fails:.0f} of 100 tests" in found.facts.lines[1] and f"{expected[0]:,} walks" in found.facts.lines[1]


def test_metres_before_and_after_are_counted_on_the_crossings_of_the_remedy():
    """Catches: metres of the main run beside those of the remedy, the first step taken for the last."""
    results, part = results_of("mended"), section_of("mended", "change").facts.parts[0]
    steps, table = (block for block in part.blocks if hasattr(block, "columns"))
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    order = [str(each) for each in results["weather"].values]
    assert [row[0] for row in table.rows] and len(table.rows) == len(order)
    for row in table.rows:
        k, cells = order.index(row[0]), []
        for verdict in ("weak", "undecided"):
            for stage in (0, -1):
                low, high = (results[f"pd_remedy_{end}"].values[stage, k] for end in ("low", "high"))
                words = np.array([word(a, b, 0.90) for a, b in zip(low, high)])
                cells.append(f"{math.floor(lengths[words == verdict].sum() + 0.5):,} m")
        assert list(row[2:]) == cells
    said = " ".join(block.text for block in part.blocks if hasattr(block, "role"))
    assert [row[:5] for row in steps.rows] == [
        ("1. rule", STEPS[0].words, "warm dusk", "124 m", "90 m"),
        ("2. camera added", STEPS[1].words, "warm dusk", "90 m", "20 m"),
        ("After all two", "20 m stay weak in warm dusk.", "warm dusk", "124 m", "20 m"),
    ]
    assert [row[5] for row in steps.rows] == ["", "1,400", "1,400"]
    assert "from 124 to 20 m weak" in part.finding and "->" not in said + part.finding and "→" not in said + part.finding
    card = section_of("mended", "why").facts.cards[0]
    from fencecast.estimate.results import Results

    k = order.index(section_of("mended", "why").facts.places[0].weather)
    segments = list(next(place for place in Results(results).weak_places if place.code == card.code).segments)
    at = segments[int(np.argmin(results["pd_remedy"].values[-1, k, segments]))]
    value, low, high = (float(results[f"pd_remedy{end}"].values[-1, k, at]) for end in ("", "_low", "_high"))
    assert card.after == f"Pd {with_interval(value, low, high)}, {word(low, high, 0.90)}"


def test_places_that_stay_weak_are_named_from_the_last_stage():
    """Catches: places of the site as it is, of another class, a place that is left out; metres of the run told as those here."""
    from fencecast.estimate.results import Results
    from fencecast.report.options import ReportOptions
    from fencecast.report.sections.change import change_of
    from fencecast.report.sections.section import Source

    results = mended()
    k = [str(each) for each in results["weather"].values].index("warm dusk")
    for end in ("", "_low", "_high"):
        results[f"pd_remedy{end}"].values[-1] = 0.95
        results[f"pd_remedy{end}"].values[-1, k, 3:6] = 0.5
        results[f"pd_remedy{end}"].values[0, k] = 0.95
        results[f"pd_remedy{end}"].values[0, k, :7] = 0.5
    found = change_of(Source(Results(results), ReportOptions())).facts.parts[0]
    said = [block.text for block in found.blocks if hasattr(block, "role")]
    first, last = (_codes(results)[segment] for segment in (3, 5))
    code = f"{first.split('-')[0]}–{last.split('-')[1]} m"
    assert f"Weak in warm dusk after all of them: {code}." in said
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    weak = lengths[results["verdict"].values[k] == "weak"].sum()
    metres = f"{math.floor(weak + 0.5)} m are weak in warm dusk in the run and {math.floor(lengths[:7].sum() + 0.5)} m here."
    assert any(text.endswith(f"As it is, {metres}") for text in said)


def test_months_are_those_of_the_named_segment():
    """Catches: months of another segment, hours of the record printed as hours a year."""
    results, year = results_of("hourly"), section_of("hourly", "year").facts
    months = results["weak_hours_month_fresh"].values
    said = [row[2] for row in year.months[0].rows]
    code = re.search(r"([A-Z] \d+–\d+ m) is", section_of("hourly", "year").finding)[1]
    segment = [f"{x.split(' ')[0]} {x.split(' ')[1].replace('-', '–')} m" for x in _codes(results)].index(code)
    assert said == [f"{math.floor(each + 0.5):,}" for each in months[segment]]


def _codes(results) -> list[str]:
    letters = letters_of(results)
    ends = zip(results["section"].values, results["segment_start_m"].values, results["segment_end_m"].values)
    return [f"{letters[str(name)]} {math.floor(a + 0.5)}-{math.floor(b + 0.5)}" for name, a, b in ends]


def test_the_review_is_counted_and_told_as_it_is_kept():
    """Catches: a finding that was accepted and opened again told as done, a reason without its name."""
    section = section_of("reviewed", "review")
    assert section.finding == "One stop and one warning are open; one finding was accepted."
    assert [f.check for f in section.facts.open] == ["under-mast", "tolerance-zero"] and not section.facts.notes
    assert section.facts.open[1].again and section.facts.open[1].fix == "bearing_deg = 0.5 is careful work."
    assert [(a.reason, a.by, a.on) for a in section.facts.accepted] == [
        ("agreed with the owner, see minutes", "B. Designer", "2026-10-02")
    ]
    asked = [d for d in facts_of("reviewed").plain.decisions if d.key == "review"]
    assert [d.ask for d in asked] == ["Answer the stop of the design review:"]
