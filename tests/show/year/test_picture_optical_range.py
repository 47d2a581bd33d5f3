"""The picture of Pd against optical range: measured with the renderer at its extremes; title, bars and curves say the same."""

import numpy as np
import pytest
from matplotlib.text import Text

from fencecast.cautions import CAUTION
from fencecast.findings.yeartitles import meets_from, range_m_text
from fencecast.hours.opticalrange import RANGES_M
from fencecast.show.write import pictures_of
from fencecast.show.year.data import optical_range_data
from fencecast.show.year.opticalrange import plot_optical_range
from show import invented_results
from show.invented_hours import with_fog, yard
from show.overlap import off_page, overlapping
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


def test_the_title_is_the_finding():
    """Catches: large and small drops swapped, the point estimate taken for the interval's end."""
    results = with_fog()
    starts = [meets_from(RANGES_M, results["pd_fog_low"].values[k, share], 0.90) for k, share in ((0, 0), (1, 2))]
    assert None not in starts and starts[0] < starts[1]
    title = optical_range_data(results).title
    assert (
        f"is shown to meet 0.90 from {range_m_text(starts[0])} of optical range with small drops, {range_m_text(starts[1])} with"
        in title
    )
    code = optical_range_data(results).panels[1][0].removesuffix(", the named segment")
    never = optical_range_data(with_fog(top=0.6)).title
    assert f"neither the fence's mean Pd nor {code} is shown to meet 0.90 (full interval)" in never
    assert "nowhere with large" in optical_range_data(with_fog(shift=8.0)).title


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
