"""The picture of a weather file, and the layout by nights that it shares with the year carpet.

Measured with the renderer at odd sizes; colours in grey and for colour-blind eyes; cells found again as pixels; sunset against
pvlib. What a line hides, this does not see: that was looked at.
"""

import io
from datetime import datetime, timedelta
from itertools import combinations, pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.text import Text
from PIL import Image

from fencecast.cautions import CAUTION
from fencecast.findings.yeartitles import TYPICAL_YEARS, month_of, weather_title
from fencecast.show.paper import style
from fencecast.show.paper.page import LARGEST_PNG_BYTES, Page, save_picture
from fencecast.show.year.box import Box, crossing_rows
from fencecast.show.year.nights import nights_of, year_of_most
from fencecast.show.year.weathersummary import (
    CONTRAST_SCALE,
    RAIN_SCALE,
    RANGE_SCALE,
    SNOW_COLOURS,
    X_MM,
    plot_weather,
)
from meteorology.invented_weather import year
from show import colours
from show.overlap import overlaps, texts
from show.wording import wrong_words

SITE = SimpleNamespace(title="Invented yard", sha256="0123456789abcdef" * 4)
SIZES = {
    "three days missing": {"gap_days": 3},
    "always armed": {"armed": "all"},
    "two years, armed by the sun": {"days": 730, "armed": "sun"},
    "armed by the week": {"armed": "weekly"},
    "forty days": {"days": 40},
    "one day": {"days": 1},
    "nothing harms, from July": {"harmless": True, "start": "2031-07-01"},
}


@pytest.mark.parametrize("size", SIZES)
def test_texts_stand_apart_at_every_size(size, tmp_path):
    """Catches: numbers on numbers, a key off the page, a picture too large for a mail, no caution."""
    figure = plot_weather(year(**SIZES[size]), SITE)
    assert overlaps(figure) == []
    said = texts(figure)
    assert CAUTION in said and TYPICAL_YEARS in said and wrong_words(said) == []
    save_picture(figure, tmp_path / "weather.png")
    assert (tmp_path / "weather.png").stat().st_size <= LARGEST_PNG_BYTES


def test_title_and_bars_tell_the_hours_of_the_year():
    """Catches: unarmed hours counted; a month's hours in its neighbour; hours of a short record taken for a year's."""
    whole = year()
    middle, counted = whole.middle, whole.armed & whole.known
    dry = middle["rain_mm_h"] + middle["snow_mm_h"] == 0.0
    fog = counted & (middle["visibility_m"] < 1000.0) & (dry | (middle["fog_share"] > 0.5))
    months = [np.count_nonzero(fog & (month_of(whole.records.time) == m)) for m in range(12)]
    assert int(np.argmax(months)) == 11
    assert weather_title(whole).startswith(f"Fog in {fog.sum():,} of {counted.sum():,} armed hours a year, most in December;")
    dense = [np.count_nonzero(fog & (middle["visibility_m"] < 200.0) & (month_of(whole.records.time) == m)) for m in range(12)]
    figure = plot_weather(whole, SITE)
    assert str(sum(dense)) in texts(figure)
    # The first row of bars is dense fog: each month's number stands right of its bar, in the month's twelfth of the width.
    first_row = [text for text in figure.findobj(Text) if text.get_text() == str(max(dense)) and text.get_fontweight() == "bold"]
    slot = (min(first_row, key=lambda text: text.get_position()[1]).get_position()[0] - X_MM) / (365 * 3 * 25.4 / 200 / 12)
    assert int(slot) == int(np.argmax(dense))
    short = weather_title(year(days=40))
    assert " of 480 armed hours, most in January" in short and " a year" not in short
    assert weather_title(year(harmless=True)) == "No fog in 4,380 armed hours a year; never near crossover"


def test_rows_of_bars_say_that_their_scales_differ():
    """Bars of 36 hours of rain and of 218 clear hours are equally high. Catches: a picture that lets them be compared."""
    assert "every row on its own scale" in " ".join(texts(plot_weather(year(), SITE)))


@pytest.mark.parametrize("size", [{}, {"days": 40}, {"days": 21}, {"days": 1}])
def test_what_the_lines_on_carpets_are_is_said_at_every_width(size):
    """Catches: a short record whose outline and dotted lines are explained nowhere."""
    said = " ".join(texts(plot_weather(year(**size), SITE)))
    assert said.count("outlined: armed hours") == said.count("dotted: sunset, sunrise") >= 2


def test_an_hour_has_its_cell_by_night_from_noon_to_noon():
    """Catches: nights torn at midnight, a day's shift, columns by calendar day. Held against Python's own calendar."""
    start = datetime(2031, 12, 30, 0)
    times = [start + timedelta(hours=k) for k in range(24 * 70)]
    nights = nights_of(np.array(times, dtype="datetime64[s]"))
    for k in (0, 11, 12, 13, 23, 24, 35, 36, 1500):
        noon = times[k] - timedelta(hours=12)
        assert str(nights.dates[nights.column[k]]) == noon.date().isoformat()
        assert nights.row[k] == noon.hour
    assert nights.count == 71
    values = np.arange(len(times), dtype=float)
    grid = nights.grid(values, np.nan)
    assert grid[12, 1] == 24.0 and np.isnan(grid[0, 0]) and np.isnan(grid[23, 70])
    kept = nights.part(nights.dates >= np.datetime64("2032-01-01"))
    assert kept.grid(values, np.nan)[0, 0] == 60.0 and kept.count == 68


def test_of_several_years_the_worst_is_shown_whole():
    """Catches: two years squeezed into one, the best shown, a last night taken for a year of its own."""
    time = np.datetime64("2029-01-01", "s") + np.arange(3 * 8760) * np.timedelta64(3600, "s")
    score = np.zeros(len(time))
    score[8760 + 5000] = 1.0
    chosen, words = year_of_most(nights_of(time), score)
    assert words == "2030, the worst of 3 years" and chosen.count in (365, 366)
    assert chosen.grid(score, 0.0).sum() == 1.0
    leap = np.datetime64("2028-01-01", "s") + np.arange(1096 * 24) * np.timedelta64(3600, "s")
    assert year_of_most(nights_of(leap), np.zeros(len(leap)))[1] == "2028, the worst of 3 years"
    one, words = year_of_most(nights_of(time[:8760]), score)
    assert words == "" and one.count == 366


def test_cells_are_found_again_as_pixels():
    """Catches: rows or columns turned over, shifted or blurred on the page."""
    whole = year(days=365)
    page = Page()
    nights = nights_of(whole.records.time)
    box = Box(page, nights, 20.0, 10.0, 10)
    step = RANGE_SCALE.step(whole.middle["visibility_m"])
    box.cells(nights.grid(step, -1), RANGE_SCALE.colours)
    page.set_height(60.0)
    buffer = io.BytesIO()
    page.figure.savefig(buffer, format="png", dpi=style.DPI)
    pixels = np.asarray(Image.open(buffer).convert("RGB"))
    rng = np.random.default_rng(3)
    seen = set()
    for k in [*rng.integers(0, len(step), 150), *np.flatnonzero(step == 0)[:20]]:
        x, y = box.at(nights.column[k] + 0.5, nights.row[k] + 0.5)
        found = pixels[int(y / style.MM_PER_INCH * style.DPI), int(x / style.MM_PER_INCH * style.DPI)]
        wanted = RANGE_SCALE.colours[step[k]]
        assert "#{:02X}{:02X}{:02X}".format(*found) == wanted
        seen.add(wanted)
    assert len(seen) >= 5


@pytest.mark.parametrize("latitude", [40.0, 54.0, -34.0])
def test_sunset_and_sunrise_are_those_of_an_ephemeris(latitude):
    """Catches: a horizon without refraction, hours taken at their start, sunset and sunrise exchanged.

    Against pvlib's rise and set times (NREL's solar position algorithm). Four minutes: heights are straight between two hours.
    """
    pandas, solarposition = pytest.importorskip("pandas"), pytest.importorskip("pvlib").solarposition
    time = np.datetime64("2031-01-01T00:00", "s") + np.arange(365 * 24) * np.timedelta64(3600, "s")
    middle = pandas.DatetimeIndex(time + np.timedelta64(1800, "s"), tz="UTC")
    height = solarposition.get_solarposition(middle, latitude, 0.0)["elevation"].to_numpy()
    nights = nights_of(time)
    grid = nights.grid(height, np.nan)
    noons = nights.dates[1:-1] + np.timedelta64(0, "s")
    for falls, name, shift in ((True, "sunset", 0), (False, "sunrise", 1)):
        rows = crossing_rows(grid, falls)[1:-1]
        days = pandas.DatetimeIndex(noons + np.timedelta64(shift, "D"), tz="UTC")
        wanted = solarposition.sun_rise_set_transit_spa(days, latitude, 0.0)[name].dt.tz_localize(None).to_numpy()
        hours = (wanted - (noons + np.timedelta64(12, "h"))) / np.timedelta64(1, "h")
        assert np.nanmax(np.abs(rows - hours)) < 4.0 / 60.0


def test_no_sun_line_where_it_does_not_set():
    height = np.full((24, 3), 5.0)
    assert np.isnan(crossing_rows(height, True)).all()


@pytest.mark.parametrize("scale", [RANGE_SCALE, RAIN_SCALE], ids=["range", "rain"])
def test_ink_is_trouble_and_grey_print_keeps_the_order(scale):
    """Catches: a step that grey print cannot tell from its neighbour (lightness 7 apart at least), or an order that turns."""
    steps = np.diff([colours.lightness(colour) for colour in scale.colours])
    assert (np.abs(steps) >= 7.0).all()
    assert (np.sign(steps) == (1 if scale is RANGE_SCALE else -1)).all()


def test_snow_is_as_dark_as_rain_of_the_same_rate_and_another_hue():
    for rain, snow in list(zip(RAIN_SCALE.colours, SNOW_COLOURS))[1:]:
        assert colours.lightness(rain) == pytest.approx(colours.lightness(snow), abs=4.0)
        for eye in ("normal", "protan", "deutan", "tritan"):
            assert colours.difference(rain, snow, eye) >= 5.0


def test_contrast_keeps_its_sign_and_its_zero_in_every_eye():
    """Catches: a diverging scale whose two sides look alike in grey. Near zero is the darkest, colder next, warmer lightest."""
    near = CONTRAST_SCALE.edges.index(1.0)
    light = [colours.lightness(colour) for colour in CONTRAST_SCALE.colours]
    assert light.index(min(light)) == near
    assert max(light[:near]) + 8.0 < min(light[near + 1 :])
    for eye in ("normal", "protan", "deutan", "tritan", "grey"):
        assert min(colours.difference(a, b, eye) for a, b in combinations(CONTRAST_SCALE.colours, 2)) >= 6.0
    assert all(low < high for low, high in pairwise(CONTRAST_SCALE.edges))
    assert CONTRAST_SCALE.step(np.array([-4.0, -1.5, -0.99, 0.99, 1.0, 8.0, np.nan])).tolist() == [0, 1, 2, 2, 3, 5, -1]
