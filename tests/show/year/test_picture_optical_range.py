"""The picture of Pd against optical range: measured with the renderer at its extremes; title, bars and curves say the same."""

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.patches import Rectangle
from matplotlib.text import Text

from fencecast.cautions import CAUTION
from fencecast.findings.yeartitles import fog_words, meets_from, range_m_text
from fencecast.hours.opticalrange import RANGES_M
from fencecast.show.paper import style
from fencecast.show.write import pictures_of
from fencecast.show.year.data import optical_range_data
from fencecast.show.year.opticalrange import plot_optical_range
from show import invented_results
from show.invented_hours import with_fog, yard
from show.overlap import off_page, overlapping, text_boxes
from show.wording import wrong_words


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"top": 0.6},
        {"shift": 0.01},
        {"shift": 8.0},
        {"shift": 30.0},
        {"units": "us", "shift": 8.0},
        {"top": 0.905},
        {"requirement_pd": 0.5},
    ],
)
def test_texts_stand_apart_at_the_extremes(changes):
    """Catches: bar words on each other or off the panel, ticks off the page, no caution."""
    figure = plot_optical_range(with_fog(**changes))
    assert overlapping(figure) == [] and off_page(figure) == []
    said = [text.get_text() for text in figure.findobj(Text)]
    assert CAUTION in said and wrong_words(said) == []


def test_title_and_bars_say_the_same():
    """Over all shifts and heights of the curves: the title is made of the words below the bars, and those of the bars' ends.

    Catches: a title over both kinds ('nowhere with large') above bars of which one kind is met with large drops.
    """
    kinds_differ = 0
    for top, shift in [(0.97, s) for s in (0.01, 0.5, 1.0, 3.0, 8.0, 20.0, 30.0)] + [(0.6, 1.0), (0.905, 1.0), (0.91, 1.0)]:
        for units in ("si", "us"):
            results = with_fog(top=top, shift=shift, units=units)
            data = optical_range_data(results)
            said = [text.get_text() for text in plot_optical_range(results).findobj(Text)]
            for _, curves in data.panels:
                for curve in curves:
                    assert curve.words in said
                    for end in (curve.start.small_m, curve.start.large_m):
                        assert end is None or range_m_text(end, units) in curve.words
                    if not curve.start.shown:
                        assert curve.words.startswith(("nowhere", "undecided"))
            named = next((c for _, c in data.panels if any(e.start.shown for e in c)), None)
            if named is None:
                assert data.title.startswith("Fog: neither ")
                continue
            if len({curve.words for curve in named}) == 1:
                assert named[0].words in data.title
            else:
                kinds_differ += 1
                for curve in named:
                    (part,) = (part for part in data.title.split(", ") if f"in {curve.kind} fog" in part)
                    ends = [end for end in (curve.start.small_m, curve.start.large_m) if end is not None]
                    assert all(range_m_text(end) in part for end in ends) and ("nowhere" in part) == (len(ends) < 2)
            assert not any("…" in text for text in said)
    assert kinds_differ >= 4


def test_the_ends_are_those_of_the_interval():
    """Catches: large and small drops swapped, the point estimate taken for the interval's end."""
    results = with_fog()
    for k, curve in enumerate(optical_range_data(results).panels[0][1]):
        small, large = (meets_from(RANGES_M, results["pd_fog_low"].values[k, share], 0.90) for share in (0, 2))
        assert small < large and (curve.start.small_m, curve.start.large_m) == (small, large)
        assert curve.words == f"from {range_m_text(small)} with small drops, {range_m_text(large)} with large"


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        ((70.0, 150.0, 70.0), "from 70 m with small drops, 150 m with large"),
        ((70.0, 70.0, 70.0), "from 70 m, whatever the drops"),
        ((70.0, None, 70.0), "from 70 m with small drops, nowhere with large"),
        ((None, None, None), "nowhere"),
        ((None, None, 100.0), "undecided from 100 m"),
        ((None, 100.0, 70.0), "from 100 m with large drops, undecided with small"),
    ],
)
def test_a_curve_above_the_line_is_not_nowhere(ends, words):
    """Catches: 'nowhere' where the curve is above the requirement and only its interval is not."""
    assert fog_words(*ends, "si") == words


def test_no_text_lies_on_a_bar():
    """By their places on the page. Catches: words on a plate in the middle of a bar."""
    figure = plot_optical_range(with_fog(shift=0.01))
    height = 25.4 * figure.get_size_inches()[1]
    bars = [p.get_extents().transformed(figure.axes[0].transData.inverted()) for p in figure.findobj(Rectangle)
            if to_hex(p.get_facecolor()).upper() in (style.A_COLOUR, style.B_COLOUR) and p.get_alpha() is None]  # fmt: skip
    bars = [(min(b.x0, b.x1), max(b.x0, b.x1), min(b.y0, b.y1), max(b.y0, b.y1)) for b in bars]
    bars = [b for b in bars if b[3] - b[2] < 2.5]
    assert len(bars) == 4
    for text, left, bottom, right, top in text_boxes(figure):
        for x0, x1, y0, y1 in bars:
            assert not (left < x1 and x0 < right and height - top < y1 and y0 < height - bottom), text


def test_meeting_begins_after_the_last_dip():
    """Catches: the first range at which it is met, although a longer one does not."""
    ranges = np.array([20.0, 50.0, 100.0, 200.0])
    assert meets_from(ranges, np.array([0.95, 0.8, 0.92, 0.95]), 0.90) == 100.0
    assert meets_from(ranges, np.array([0.95, 0.9, 0.92, 0.95]), 0.90) == 20.0
    assert meets_from(ranges, np.array([0.95, 0.9, 0.92, 0.85]), 0.90) is None


def test_drawn_only_when_the_results_carry_it():
    """Catches: a picture of nothing."""
    assert not any(row[1] == "year.opticalrange" for row in pictures_of(invented_results.yard()))
    assert not any(row[1] == "year.opticalrange" for row in pictures_of(yard()))
    assert any(row[1] == "year.opticalrange" for row in pictures_of(with_fog()))
    with pytest.raises(ValueError, match="no fog by optical range"):
        plot_optical_range(invented_results.yard())


def test_what_all_else_is_taken_from_is_said_once():
    """Catches: "the record's armed hours of radiation fog and the record's armed hours of advection fog"; a kind without hours
    of its own that is named like one with."""
    results = with_fog()
    words = " ".join(text.get_text() for text in plot_optical_range(results).findobj(Text))
    assert "All else as in the record's armed hours of each kind of fog. Curves" in " ".join(words.split())
    results["fog_base"] = ("fog_kind", np.array(["the record's armed hours of radiation fog", "the record's armed hours of fog"]))
    words = " ".join(text.get_text() for text in plot_optical_range(results).findobj(Text))
    said = "All else as in the record's armed hours of radiation fog and the record's armed hours of fog."
    assert said in " ".join(words.split())
