"""The year carpet at odd sizes: its title and bars say what its cells show, and what was counted when hours were simulated."""

import io

import numpy as np
import pytest
from PIL import Image

from fencecast.cautions import CAUTION
from fencecast.estimate.places import code_of, sections_of
from fencecast.estimate.results import Results
from fencecast.findings.weakhours import MONTHS as LONG_MONTHS
from fencecast.findings.yeartitles import month_of, weak_year
from fencecast.hours.weakhours import pd_of_hours
from fencecast.show.paper import style
from fencecast.show.paper.page import LARGEST_PNG_BYTES, save_picture
from fencecast.show.write import pictures_of, write_pictures
from fencecast.show.year.carpet import X_MM, plot_year_carpet
from fencecast.show.year.data import year_carpet_data
from fencecast.show.year.nights import arming_groups, nights_of
from meteorology.invented_weather import year as invented_weather
from show import invented_hours, invented_results
from show.overlap import overlaps, text_boxes, texts
from show.wording import wrong_words

SIZES = {
    "three days missing": {"gap_days": 3},
    "always armed": {"armed": "all"},
    "two years, armed by the sun": {"days": 730, "armed": "sun"},
    "armed by the week": {"armed": "weekly", "gap_days": 3},
    "forty days": {"days": 40},
    "never weak": {"lowest": 0.93, "harmless": True},
    "from July, no fresh crossings": {"start": "2031-07-01", "fresh": False, "spread": 0.9},
}


@pytest.mark.parametrize("size", SIZES)
def test_texts_stand_apart_at_every_size(size, tmp_path):
    """Catches: 'no weather data' on a head, 'sunset' on 'armed hours', text off the page, a picture too large for a mail."""
    figure = plot_year_carpet(invented_hours.yard(**SIZES[size]))
    assert overlaps(figure) == []
    said = texts(figure)
    assert CAUTION in said and wrong_words(said) == []
    save_picture(figure, tmp_path / "carpet.png")
    assert (tmp_path / "carpet.png").stat().st_size <= LARGEST_PNG_BYTES


@pytest.mark.parametrize("changes", [{}, {"gap_days": 3}, {"days": 730, "armed": "sun"}, {"armed": "weekly"}])
def test_title_bars_and_cells_say_the_same(changes):
    """Catches: hours of another segment, a year's hours for those of two, a month's hours under its neighbour."""
    results = invented_hours.yard(**changes)
    year = weak_year(results)
    below = pd_of_hours(results, year.segment) < 0.90
    years = changes.get("days", 365) / 365
    assert below.sum() / years == pytest.approx(year.weak.sum())
    # The title's number is from crossings of its own, as cells and bars are: the weakest of many looks weaker than it is.
    assert year.fresh and year.interval[0] == pytest.approx(results["weak_hours_fresh"].values[year.segment])
    counted = results["hour_armed"].values & results["hour_known"].values
    assert year.counted.sum() == pytest.approx(counted.sum() / years)
    month = month_of(results["hour_time"].values)
    most = int(np.argmax(np.bincount(month[below], minlength=12)))
    title = year_carpet_data(results).title
    code = code_of(results, sections_of(Results.of(results)), year.segment, year.segment)
    assert title.startswith(f"{code} is below 0.90 in {year.interval[0]:,.0f} of {counted.sum() / years:,.0f} armed hours a year")
    assert title.endswith(f"most in {LONG_MONTHS[most]}")
    said = texts(plot_year_carpet(results))
    assert f"{year.weak[most]:,.0f} h" in said
    assert "(fresh crossings)" in " ".join(said)
    assert year.weak.sum() == pytest.approx(year.interval[0], rel=1e-3)


def test_the_segment_is_the_weakest_that_is_met_in_its_best_weather():
    """Catches: the blind foot of a mast chosen, whose carpet is one flat colour; a title that hides that none is ever meets."""
    results = invented_hours.yard()
    best = results["pd_state_low"].values.max(axis=0)
    meets = best > 0.90
    hours = results["weak_hours"].values
    year = weak_year(results)
    assert year.at_best and meets[year.segment] and hours[year.segment] == np.nanmax(hours[meets])
    assert np.nanmax(hours) > hours[year.segment]
    none = invented_hours.yard()
    none["pd_state_low"] = none["pd_state_low"] * 0.5
    assert not weak_year(none).at_best
    assert any("none meets the requirement in any weather" in words for words in texts(plot_year_carpet(none)))


def test_a_year_without_weak_hours_and_a_year_of_nothing_else():
    """Catches: 'most in January' of no hours at all."""
    quiet = invented_hours.yard(lowest=0.93, harmless=True)
    title = year_carpet_data(quiet).title
    assert title.startswith("The weakest segment, ") and title.endswith(" m, is below 0.90 in none of 4,380 armed hours a year")
    bad = invented_hours.yard()
    bad["pd_state"] = bad["pd_state"] * 0.5
    bad["pd_state_low"] = bad["pd_state_low"] * 0.5
    counted = float(bad["known_armed_hours"].values)
    month = month_of(bad["hour_time"].values)[bad["hour_armed"].values & bad["hour_known"].values]
    bad["weak_hours_month"][:] = np.bincount(month, minlength=12)
    bad["weak_hours_fresh"][:] = counted
    assert year_carpet_data(bad).title.endswith(f"is below 0.90 in each of {counted:,.0f} armed hours a year")
    assert overlaps(plot_year_carpet(bad)) == []


def test_hours_of_a_short_record_are_not_made_a_year_s():
    """Catches: forty winter days times nine."""
    results = invented_hours.yard(days=40)
    year = weak_year(results)
    assert not year.a_year and year.counted.sum() == pytest.approx(480)
    assert year.weak.sum() == pytest.approx((pd_of_hours(results, year.segment) < 0.90).sum())
    assert " of 480 armed hours, most in" in year_carpet_data(results).title


def test_cells_have_the_colour_of_their_hour_and_unarmed_hours_are_blank():
    """Catches: another hour's Pd, unarmed hours drawn in the colour of 0 or of 1, nights turned over."""
    results = invented_hours.yard(spread=0.9)
    figure = plot_year_carpet(results)
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=style.DPI)
    pixels = np.asarray(Image.open(buffer).convert("RGB"))
    image = figure.axes[0].images[0]
    left, _, _, top = image.get_extent()
    assert left == pytest.approx(X_MM, abs=0.1)
    ramp = style.fence7(0.90)
    nights = nights_of(results["hour_time"].values)
    pd = pd_of_hours(results, weak_year(results).segment)
    column_mm, row_mm = 3 * 25.4 / style.DPI, 20 * 25.4 / style.DPI
    rng = np.random.default_rng(1)
    seen = set()
    clock = results["hour_time"].values.astype("datetime64[h]").astype(int) % 24
    day = results["hour_time"].values.astype("datetime64[D]")
    date = np.array([int(str(each)[-2:]) for each in day])
    # Away from the months' lines, the outline and the sun's lines, which lie on top of cells.
    inside = np.isin(clock, [22, 23, 0, 1, 2]) & (date > 3) & (date < 28)
    picks = [*rng.choice(np.flatnonzero(inside), 150), *rng.choice(np.flatnonzero(inside & (pd < 0.6)), 30)]
    for k in picks:
        x, y = left + (nights.column[k] + 0.5) * column_mm, top + (nights.row[k] + 0.5) * row_mm
        found = pixels[int(y / 25.4 * style.DPI), int(x / 25.4 * style.DPI)]
        assert "#{:02X}{:02X}{:02X}".format(*found) == ramp.colour(pd[k])
        seen.add(ramp.colour(pd[k]))
    assert len(seen) >= 4
    for k in np.flatnonzero((clock == 13) & (date == 15)):
        x, y = left + (nights.column[k] + 0.5) * column_mm, top + (nights.row[k] + 0.5) * row_mm
        assert tuple(pixels[int(y / 25.4 * style.DPI), int(x / 25.4 * style.DPI)]) == (255, 255, 255)


def test_the_saved_picture_has_the_colours_of_its_bar(tmp_path):
    """Sampled in the file as it is mailed, 256 colours or not. Catches: cells that lost the bar's colours, nights under a line
    at the turn of a month."""
    results = invented_hours.yard(spread=0.9)
    figure = plot_year_carpet(results)
    save_picture(figure, tmp_path / "carpet.png")
    pixels = np.asarray(Image.open(tmp_path / "carpet.png").convert("RGB"))
    ramp, image = style.fence7(0.90), figure.axes[0].images[0]
    left, _, _, top = image.get_extent()
    boxes = {text: (x0, y1) for text, x0, _, _, y1 in text_boxes(figure)}
    words = "Pd: probability that one crossing raises an alarm"
    height = figure.get_size_inches()[1] * 25.4
    x_bar, y_bar = boxes[words][0], height - boxes[words][1] + 5.0  # the middle of the bar lies 5 mm under its heading's top
    bar = {}
    for k, colour in enumerate(ramp.colours):
        found = pixels[round(y_bar / 25.4 * style.DPI), round((x_bar + 84.0 * (k + 0.5) / len(ramp.colours)) / 25.4 * style.DPI)]
        bar[colour] = tuple(found)
        assert "#{:02X}{:02X}{:02X}".format(*found) == colour
    nights = nights_of(results["hour_time"].values)
    pd = pd_of_hours(results, weak_year(results).segment)
    clock = results["hour_time"].values.astype("datetime64[h]").astype(int) % 24
    date = np.array([int(str(each)[8:10]) for each in results["hour_time"].values.astype("datetime64[D]")])
    first_nights = np.flatnonzero(np.isin(clock, [22, 23, 0, 1]) & np.isin(date, [1, 2]) & (nights.column > 3))
    assert len(first_nights) > 40
    for k in first_nights:
        for part in (0.2, 0.5, 0.8):  # the whole width of a column of three device pixels
            x, y = left + (nights.column[k] + part) * 3 * 25.4 / style.DPI, top + (nights.row[k] + 0.5) * 20 * 25.4 / style.DPI
            assert tuple(pixels[int(y / 25.4 * style.DPI), int(x / 25.4 * style.DPI)]) == bar[ramp.colour(pd[k])]


def test_a_month_without_hours_is_not_a_month_without_weak_ones():
    """Catches: nothing drawn for 'not known', which reads as 0 %."""
    said = texts(plot_year_carpet(invented_hours.yard(days=40)))
    assert said.count("no data") == 10
    whole = texts(plot_year_carpet(invented_hours.yard(lowest=0.93, harmless=True)))
    assert "no data" not in whole and whole.count("0 h") == 12


def test_arming_by_the_week_gives_two_carpets():
    """Catches: working and rest days woven into one comb; two carpets for arming by the sun, which only drifts."""

    def groups(armed, days=365):
        results = invented_hours.yard(armed=armed, days=days)
        nights = nights_of(results["hour_time"].values)
        return arming_groups(nights, nights.grid(results["hour_armed"].values, False))

    week = [tuple(range(7))]
    assert groups("18:00-06:00") == groups("all") == groups("sun") == groups("weekly", days=10) == week
    # A row that is armed for half of the year by the sun: which half has one Monday more says nothing.
    nights = nights_of(np.datetime64("2031-01-01", "s") + np.arange(8760) * np.timedelta64(3600, "s"))
    for half in range(178, 190):
        assert arming_groups(nights, np.repeat((np.arange(nights.count) < half)[None, :], 24, axis=0)) == week
    # Whole days from Saturday 00:00 to Sunday 24:00 touch the nights that begin on Friday, Saturday and Sunday.
    assert groups("weekly") == [(0, 1, 2, 3), (4, 5, 6)]
    said = texts(plot_year_carpet(invented_hours.yard(armed="weekly")))
    assert "Nights that begin Mon to Thu" in said and "Nights that begin Fri to Sun" in said


def test_drawn_only_when_the_results_have_hours(tmp_path):
    """Catches: a picture of nothing, or none for a site with hourly weather."""
    results = invented_hours.add_hours(invented_results.one_camera(), invented_weather(days=40), 0.3, 0.0)
    assert "year-carpet.png" in write_pictures(results, tmp_path)
    assert (tmp_path / "year-carpet.png").stat().st_size > 1000
    assert "carpet" not in [module for _, module, _ in pictures_of(invented_results.one_camera())]
    with pytest.raises(ValueError, match="no hours"):
        plot_year_carpet(invented_results.yard())
