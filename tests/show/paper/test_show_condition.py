"""Chosen hours (`run --stress`), gaps of the record and sun by day: every picture and the sheet say them beside their finding."""

import io
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image

from fencecast.findings.words import armed_hours_text, whole
from fencecast.findings.yeartitles import hours_sentences, weak_year, weather_title
from fencecast.hours.weakhours import pd_of_hours
from fencecast.meteorology.stress import stress_counts
from fencecast.show.fence.cause import plot_cause_strip
from fencecast.show.fence.plan import plot_plan
from fencecast.show.fence.strip import plot_fence_strip
from fencecast.show.fence.summary import plot_summary
from fencecast.show.look.distance import plot_distance
from fencecast.show.paper import style
from fencecast.show.year.carpet import OTHER_HOURS, plot_year_carpet
from fencecast.show.year.data import optical_range_data, year_carpet_data
from fencecast.show.year.nights import nights_of
from fencecast.show.year.opticalrange import plot_optical_range
from meteorology.invented_weather import year as invented_weather
from show import invented_distances, invented_hours, invented_results
from show.overlap import overlaps, texts
from show.wording import wrong_words

SHORT = "visibility_m<=100"
LONG = "(visibility_m<=1000 or rain_mm_h>0.5 or snow_mm_h>0.5)and(wind_m_s<2 or relative_humidity>0.97)and air_temperature_c<12"
LONG += " and sun_elevation_deg<-6 and clock_hour>=0 and month!=7"
PICTURES = {
    "plan": (plot_plan, invented_results.yard),
    "strip": (plot_fence_strip, invented_results.yard),
    "cause": (plot_cause_strip, invented_results.yard),
    "distance": (plot_distance, invented_distances.usual),
    "summary": (plot_summary, invented_hours.yard),
    "carpet": (plot_year_carpet, invented_hours.yard),
    "optical range": (plot_optical_range, invented_hours.with_fog),
}


def under(results, condition, hours=21):
    all_hours, kept = (SimpleNamespace(counted=np.ones(n), period_years=1.0) for n in (4344, hours))
    results.attrs |= {"stress": condition, **stress_counts(all_hours, kept)}
    return results


def chosen_yard(hours=90, sun_deg=90.0):
    """The invented yard on hours scattered over the year's armed ones, with the sun no farther from the horizon than given."""
    year = invented_weather(armed="all")
    chosen = np.zeros(len(year.armed), dtype=bool)
    some = np.flatnonzero(year.counted & (np.abs(year.sun_elevation_deg) < sun_deg))
    chosen[np.random.default_rng(7).choice(some, hours, replace=False)] = True
    results = invented_results.yard()
    return under(invented_hours.add_hours(results, replace(year, armed=chosen), 0.9, 0.0), SHORT, hours), chosen


@pytest.mark.parametrize("name", PICTURES)
def test_every_picture_names_the_condition(name):
    """Catches: 'every metre meets the requirement' of 21 foggy hours, printed and passed on as if it were of the year."""
    plot, make = PICTURES[name]
    results = make()
    assert not [text for text in texts(plot(results)) if "Only hours" in text or "condition" in text]
    short = plot(under(results, SHORT))
    assert f"Only hours with {SHORT} (21 of 4,344 armed hours a year)" in texts(short)
    assert not [text for text in texts(short) if "condition in full" in text]
    long = plot(under(results, LONG))
    said = texts(long)
    [line] = [text for text in said if text.startswith("Only hours with ")]
    assert line.endswith("… (21 of 4,344 armed hours a year)") and LONG.startswith(line[16 : line.index("…")])
    first = next(i for i, text in enumerate(said) if text.startswith("The condition in full: "))
    full = "".join("".join(said[first : first + 3]).split())
    assert full.startswith("".join(f"The condition in full: {LONG}".split()))
    assert overlaps(short) == [] and overlaps(long) == [] and wrong_words(said) == []


@pytest.mark.parametrize(("hours", "sun_deg"), [(90, 90.0), (25, 3.0)])
def test_chosen_hours_show_their_colour_and_no_outline(hours, sun_deg):
    """Few hours had a bold outline, many a thin one; at sunset and sunrise lines lie on them.

    Catches: black bars where an outline closes over a single hour, pale hours on white paper, other hours as if meets.
    """
    results, chosen = chosen_yard(hours, sun_deg)
    figure = plot_year_carpet(results)
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=style.DPI)
    pixels = np.asarray(Image.open(buffer).convert("RGB"))
    left, _, _, top = figure.axes[0].images[0].get_extent()
    nights, ramp = nights_of(results["hour_time"].values), style.fence7(0.90)
    pd = pd_of_hours(results, weak_year(results).segment)
    x0, y0 = round(left / 25.4 * style.DPI), round(top / 25.4 * style.DPI)

    def colours(k):
        cell = pixels[
            y0 + 20 * nights.row[k] : y0 + 20 * nights.row[k] + 20, x0 + 3 * nights.column[k] : x0 + 3 * nights.column[k] + 3
        ]
        return ["#{:02X}{:02X}{:02X}".format(*colour) for colour in cell.reshape(-1, 3)]

    seen = set()
    for k in np.flatnonzero(chosen):
        # Twenty dots high: where it is nowhere hidden across its whole width, that many in a column are its own.
        assert colours(k).count(ramp.colour(pd[k])) >= 10
        seen.add(ramp.colour(pd[k]))
        if 3 <= int(str(nights.dates[nights.column[k]])[-2:]) <= 26:  # between the white lines of the months
            assert style.PAPER not in colours(k)
    assert len(seen) >= 2
    for k in np.flatnonzero(~chosen)[50:8000:400]:
        assert OTHER_HOURS in colours(k)
    said = texts(figure)
    assert "armed hours" not in said and "outlined" not in said
    assert any(text.startswith("grey: all other hours") for text in said)
    assert "share of these hours below 0.90, %" in said
    assert overlaps(figure) == []


def test_the_carpet_s_title_has_the_condition_instead_of_calling_its_hours_all_armed_ones():
    results, _ = chosen_yard()
    assert f" of 90 armed hours a year with {SHORT}" in year_carpet_data(results).title
    assert " of 90 armed hours a year that meet the condition" in year_carpet_data(under(results, LONG)).title


def test_gaps_stand_beside_the_hours_that_are_known():
    """Catches: 632 of 1,501 hours where 2,555 are armed and 1,054 of them unknown."""
    assert armed_hours_text(1501.0, 2555.0, True) == "1,501 known armed hours a year (2,555 armed)"
    assert armed_hours_text(250.0, 260.0, False) == "250 known armed hours (260 armed)"
    assert armed_hours_text(4344.0, 4380.0, True) == "4,344 armed hours a year"
    gaps = {"gap_days": 30}
    results = invented_hours.yard(**gaps)
    known = int((results["hour_armed"].values & results["hour_known"].values).sum())
    words = f" of {known:,} known armed hours a year (4,380 armed)"
    assert known < 4100 and words in year_carpet_data(results).title
    assert words in " ".join(hours_sentences(results))
    assert words in weather_title(invented_weather(**gaps))
    assert overlaps(plot_year_carpet(results)) == []


@pytest.mark.parametrize(("armed", "some"), [("18:00-06:00", True), ("all", False)])
def test_the_key_speaks_of_unarmed_hours_only_where_there_are_any(armed, some):
    """Catches: 'white: not armed' of a carpet in which white can only be a Pd near 1."""
    said = texts(plot_year_carpet(invented_hours.yard(armed=armed)))
    assert any("not armed" in text for text in said) == some
    assert some == any(text.startswith("outside the black outline") for text in said)


def test_sun_by_day_and_the_hours_stand_on_carpet_and_sheet():
    """Catches: the darkest cells before sunset without the caveat that the console prints; a sheet without the main result."""
    results = invented_hours.yard(gap_days=3)
    year = weak_year(results)
    counted = np.flatnonzero(results["hour_armed"].values & results["hour_known"].values)
    sun = np.full(results.sizes["hour"], 40.0)  # of unarmed hours nothing is said
    sun[counted] = np.where(np.arange(len(counted)) % 25 == 0, 10.5, -5.0)
    results["hour_sun_elevation_deg"] = ("hour", sun)
    caveat = "In 4 % of the armed hours the sun is above 10 degrees."
    hours, low, high = (whole(value) for value in year.interval)
    finding = f"below 0.90 in {hours} ({low} to {high}) of {whole(year.counted.sum())} armed hours a year"
    for plot in (plot_year_carpet, plot_summary):
        figure = plot(results)
        assert any(text.startswith(caveat) for text in texts(figure))
        assert overlaps(figure) == []
    assert len([text for text in texts(figure) if finding in text]) == 1
    assert hours_sentences(invented_results.yard()) == []
    results["hour_sun_elevation_deg"] = ("hour", np.where(sun > 30.0, 40.0, -5.0))
    for plot in (plot_year_carpet, plot_summary):
        assert not [text for text in texts(plot(results)) if "the sun is above" in text]


def test_a_curve_above_the_requirement_is_not_denied():
    """Pd above 0.90 in the middle, intervals across it. Catches: 'meets it at no range' beside a curve that lies above."""
    results = invented_hours.with_fog(top=0.93, half=0.05)
    assert (results["pd_fog"].values > 0.9).any()
    title = optical_range_data(results).title
    assert title.endswith("is shown to meet 0.90 (full interval) from any simulated optical range on")
