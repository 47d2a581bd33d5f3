"""Hours in pictures: those a year, and of a record much shorter than a year its own and not seventeen times as many."""

import pytest

from fencecast.findings.words import hours_heading, hours_text
from fencecast.show.fence.cause import plot_cause_strip
from fencecast.show.fence.comparison import plot_comparison
from fencecast.show.fence.plan import plot_plan
from fencecast.show.fence.strip import plot_fence_strip
from fencecast.show.fence.summary import MARGIN_MM, plot_summary
from fencecast.show.look.distance import plot_distance
from fencecast.show.year.opticalrange import plot_optical_range
from show import invented_comparisons, invented_distances, invented_hours, invented_results
from show.overlap import off_page, overlapping, text_boxes, texts

THREE_WEEKS = 21 / 365.25
PLOTS = {
    "plan": (plot_plan, invented_results.yard),
    "strip": (plot_fence_strip, invented_results.yard),
    "cause": (plot_cause_strip, invented_results.yard),
    "summary": (plot_summary, invented_results.yard),
    "distance": (plot_distance, invented_distances.usual),
    "comparison": (plot_comparison, invented_comparisons.comparison),
}


@pytest.mark.parametrize("name", PLOTS)
def test_a_short_record_tells_its_own_hours(name):
    """Catches: forty winter days times nine given out for a year."""
    plot, make = PLOTS[name]
    results = make()
    worst = float(results["weather_hours"].values.max())
    a_year = texts(plot(results))
    assert any(hours_text(worst) in text for text in a_year)
    results.attrs["period_years"] = THREE_WEEKS
    figure = plot(results)
    said = texts(figure)
    assert not [text for text in said if "h/yr" in text]
    assert any(f"{worst * THREE_WEEKS:,.0f} h" in text for text in said)
    assert ("year" in a_year, "full record" in said) in ((True, True), (False, False))
    assert not [text for text in said if text.startswith("year")]
    assert overlapping(figure) == [] and off_page(figure) == []
    results.attrs["period_years"] = 0.95
    assert texts(plot(results)) == a_year


@pytest.mark.parametrize(
    "attrs",
    [
        {"period_years": THREE_WEEKS},
        {"stress": "wind_m_s<3", "stress_hours": 21.0, "stress_of_hours": 4344.0},
        {"weather_classes": 12},
        {},
    ],
)
def test_the_last_row_of_the_sheet_stays_inside_its_margin(attrs):
    """Catches: 'full record, by hours' and 'these classes, by hours', longer than 'year, by hours', out in the margin."""
    results = invented_results.yard()
    results.attrs.update(attrs)
    figure = plot_summary(results)
    assert any(text.endswith(", by hours") for text in texts(figure))
    assert [text for text, left, *_ in text_boxes(figure) if left < MARGIN_MM - 0.5] == []


def test_hours_of_fog_are_those_of_a_short_record():
    """The invented year of 8,760 hours, taken for nearly one and for half of one."""
    results = invented_hours.with_fog()
    counted = (results["hour_armed"].values & results["hour_known"].values).sum()
    for years, span in ((0.95, "a year"), (0.5, "of the record")):
        results["known_armed_hours"] = ((), counted / years)
        assert f"Armed hours {span} with fog, by optical range" in texts(plot_optical_range(results))


def test_hours_in_words():
    assert (hours_text(2650.0), hours_text(2650.0, 3.0), hours_text(1461.0, THREE_WEEKS)) == ("2,650 h/yr", "2,650 h/yr", "84 h")
    assert (hours_heading(1.0), hours_heading(0.9), hours_heading(0.89)) == ("h/yr", "h/yr", "hours")
