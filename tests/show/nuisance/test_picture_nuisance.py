"""The pictures of nuisance alarms: a bar of causes for each class and the year, and alarms along the fence."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from matplotlib.colors import to_rgb

import fencecast as fc
from fencecast.cautions import not_modelled
from fencecast.estimate.results import Results
from fencecast.findings.nuisancewords import rate_words
from fencecast.show.fence.summary import plot_summary
from fencecast.show.nuisance.data import MOST_CAUSES, band_edges, band_of, nuisance_data, nuisance_plan_data
from fencecast.show.nuisance.nights import FILLS, LEFT, RIGHT, plot_nuisance
from fencecast.show.nuisance.plan import BAND_FILLS, plot_nuisance_plan
from fencecast.show.svg.nuisance import nuisance_svg
from fencecast.show.write import pictures_of
from show import invented_nuisance, invented_results
from show.overlap import overlaps, texts
from show.wording import wrong_words

SITES = ("one_camera", "us_large", "twelve_classes", "one_class")


def grey(colour: str) -> float:
    """Relative luminance."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))


@pytest.mark.parametrize("name", SITES)
def test_no_text_lies_on_another(name):
    """Catches: a long name of a class or cause on a number, a key that leaves the page; a word that promises."""
    results = invented_nuisance.asked(invented_results.ALL[name](), ceiling=6.0, bad_ceiling=10.0)
    for draw in (plot_nuisance, plot_nuisance_plan):
        figure = draw(results)
        assert overlaps(figure) == []
        assert not wrong_words(texts(figure))


def test_bars_are_the_results_own():
    """Catches: a slice of another cause or class, a bar that is not the total, a cause that is dropped with the others."""
    results = invented_nuisance.asked(stimuli=(*invented_nuisance.SIX, ("dog", "dog", "body", 0.05)))
    data = nuisance_data(results)
    assert len(data.causes) == MOST_CAUSES == len(FILLS) and data.causes[-1] == "other (3 more)"
    assert data.causes[:2] == ("insects near the lens", "cats")
    for bar in data.bars[:-1]:
        one = results.sel(weather=bar.name)
        assert bar.slices[0] == float(one["nuisance_night"].sel(stimulus="insect"))
        assert sum(bar.slices) == pytest.approx(float(one["nuisance_total"])) == bar.total
        assert (bar.low, bar.high, bar.bad_night) == tuple(
            float(one[name]) for name in ("nuisance_total_low", "nuisance_total_high", "bad_night")
        )
    year = data.bars[-1]
    assert year.year and year.total == float(results["nuisance_year"]) and sum(year.slices) == pytest.approx(year.total)
    assert data.top == max(max(bar.high, bar.bad_high) for bar in data.bars)


def test_lengths_on_the_page_are_alarms():
    """Catches: a bar from elsewhere than zero, a whisker or a ceiling on another scale than the bars."""
    results = invented_nuisance.asked(ceiling=6.0)
    data, figure = nuisance_data(results), plot_nuisance(results)
    scale = (RIGHT - LEFT) / data.top
    corners = [patch.get_xy() for patch in figure.axes[0].patches if hasattr(patch, "get_xy") and np.ndim(patch.get_xy()) == 2]
    spans = {(round(c[:, 0].min(), 3), round(c[:, 0].max(), 3)) for c in corners}
    for bar in data.bars:
        assert (LEFT, round(LEFT + scale * bar.slices[0], 3)) in spans
    lines = {tuple(np.round(line.get_xdata(), 3)) for line in figure.axes[0].lines}
    for bar in data.bars:
        assert (round(LEFT + scale * bar.low, 3), round(LEFT + scale * bar.high, 3)) in lines
    assert (round(LEFT + scale * 6.0, 3),) * 2 in lines
    bad = [results.attrs[f"nuisance_bad_night_{end}"] for end in ("low", "high")]
    assert tuple(round(LEFT + scale * end, 3) for end in bad) in lines
    assert any("ceiling, year: 6 a night on average" in text for text in texts(figure))


def test_a_ceiling_far_beyond_is_named_and_not_drawn():
    """Catches: bars of a hair's width beside a ceiling of 1,000."""
    data = nuisance_data(invented_nuisance.asked(ceiling=1000.0))
    assert data.top < 100.0
    said = texts(plot_nuisance(invented_nuisance.asked(ceiling=1000.0)))
    assert "ceiling, year: 1000 a night on average (beyond the axis)" in said
    assert not any("ceiling" in text for text in texts(plot_nuisance(invented_nuisance.asked())))


def test_fills_stay_apart_in_grey_print():
    """Two fills differ by 0.1 of luminance or by their hatch. Catches: two causes that are one."""
    kinds = [(grey(fill.colour), fill.direction) for fill in FILLS]
    for k, (light, hatch) in enumerate(kinds):
        for other, hatched in kinds[k + 1 :]:
            assert hatch != hatched or abs(light - other) > 0.1
    steps = [grey(colour) for colour in BAND_FILLS]
    assert all(high - low > 0.02 for high, low in zip(steps, steps[1:]))


def test_bands_end_at_round_numbers_above_the_most():
    assert band_edges(0.93) == (0.0, 0.05, 0.1, 0.2, 0.5, 1.0)
    assert band_edges(1.0)[-1] == 1.0 and band_edges(1.01)[-1] == 2.0 and len(band_edges(0.0)) == 6
    edges = band_edges(0.93)
    assert [band_of(value, edges) for value in (0.0, 0.0499, 0.05, 0.5, 0.93, 1.0)] == [0, 0, 1, 4, 4, 4]


def test_the_plan_is_alarms_per_100_m_by_hours():
    """By hand with numpy. Catches: classes that weigh alike, metres forgotten, no data drawn as none."""
    results = invented_nuisance.asked(invented_results.part_without_data())
    data = nuisance_plan_data(results)
    hours = results["weather_hours"].values
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    night = sum(h / hours.sum() * results["nuisance_segment"].values[k] for k, h in enumerate(hours))
    assert data.per_100m == pytest.approx(100.0 * night / lengths, nan_ok=True)
    blank = np.isnan(data.per_100m)
    assert blank.any() and np.array_equal(blank, np.isnan(results["pd"].values).all(axis=0))
    assert "no data" in texts(plot_nuisance_plan(results))
    assert "no data" not in texts(plot_nuisance_plan(invented_nuisance.asked()))
    top = data.busiest[0]
    bands = [-1 if math.isnan(value) else band_of(value, data.edges) for value in data.per_100m]
    first, last = top.segment, top.segment
    while (
        first > 0
        and bands[first - 1] == bands[top.segment]
        and results["section"].values[first - 1] == results["section"].values[first]
    ):
        first -= 1
    while (
        last + 1 < len(bands)
        and bands[last + 1] == bands[top.segment]
        and results["section"].values[last + 1] == results["section"].values[last]
    ):
        last += 1
    assert bands[top.segment] == max(bands) and top.per_night == pytest.approx(night[first : last + 1].sum())
    assert (top.low, top.high) == pytest.approx((0.9 * top.per_night, 1.1 * top.per_night))
    assert f"come from what passes the fence: {rate_words(top.per_night)} of them at " in data.title
    assert f" at {top.code}".replace(" m", "\N{NO-BREAK SPACE}m") in data.title and " m" not in data.title.replace("from m", "")
    for one, other in itertools.pairwise(data.busiest):
        assert one.low > other.high


def test_what_passes_nowhere_is_said():
    """Catches: a title of the busiest place where nothing passes, an empty number on the plan."""
    bursts = [row for row in invented_nuisance.SIX if row[2] == "burst"]
    data = nuisance_plan_data(invented_nuisance.asked(stimuli=bursts))
    assert data.busiest == () and data.title.startswith("Nothing that passes the fence is among the stimuli")
    quiet = invented_nuisance.asked(scale=0.0)
    assert nuisance_plan_data(quiet).title == "Nothing that passes the fence raises a nuisance alarm"
    for draw in (plot_nuisance, plot_nuisance_plan):
        assert overlaps(draw(quiet)) == []


def test_pictures_come_with_stimuli_alone():
    """Catches: pictures of a site that has none, an error that does not say what to do."""
    names = [name for row in pictures_of(invented_nuisance.asked()) for name in row[0]]
    assert names[-2:] == ["nuisance.png", "nuisance-plan.png"]
    assert not [name for row in pictures_of(invented_results.yard()) for name in row[0] if "nuisance" in name]
    for draw in (fc.plot_nuisance, fc.plot_nuisance_plan):
        with pytest.raises(fc.UsageError, match=r"run a site file with \[\[stimulus\]\] tables"):
            draw(invented_results.yard())


def test_the_figure_of_a_page_is_the_same_drawing():
    """Catches: a figure of the report with other numbers, a name that is markup."""
    results = invented_nuisance.asked(stimuli=[("<b>cats & co</b>", "cat", "body", 2.0)], ceiling=3.0)
    figure = nuisance_svg(results)
    shown = texts(plot_nuisance(results))
    assert figure.title == nuisance_data(results).title
    assert "&lt;b&gt;cats &amp; co&lt;/b&gt;" in figure.svg and "<b>" not in figure.svg
    for text in ("19 nights in 20 have this many or fewer; of the year with its interval", "ceiling, year: 3 a night on average"):
        assert text in figure.svg and text in shown


def test_a_year_without_hours_has_no_bar():
    results = invented_nuisance.asked()
    results["weather_hours"] = 0.0 * results["weather_hours"]
    for name in ("nuisance_year", "nuisance_year_low", "nuisance_year_high"):
        results[name] = math.nan
    data = nuisance_data(Results(results))
    assert not any(bar.year for bar in data.bars) and "no number for the year" in data.title


def test_the_sheet_says_them_and_all_that_is_not_modelled():
    """Catches: the last limits cut off by an ellipsis, because those of nuisance alarms are longer."""
    results = invented_nuisance.asked()
    results.attrs["not_modelled"] = "\n".join(not_modelled(nuisance=True))
    results.attrs["design_review"] = "0 stop, 1 warn; fencecast check yard.toml"
    figure = plot_summary(results)
    said = " ".join(texts(figure))
    assert overlaps(figure) == []
    assert "Nuisance alarms: 5.7 a night (3.5 to 12), 19 nights in 20 at most 10" in said
    assert "meeting a number here is not compliance with any of them" in said
