"""The picture of shares: measured with the renderer, with long words, places without spread, and shares beyond 0 and 1."""

from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.text import Text

from fencecast.cautions import CAUTION
from fencecast.estimate.results import Results
from fencecast.estimate.sensitivity import INPUTS, WORDS, Shares, add_shares, drivers_words
from fencecast.findings.blocks import words_of
from fencecast.findings.inputs import input_blocks
from fencecast.show.fence.sensitivity import plot_sensitivity
from fencecast.show.write import write_pictures
from show import invented_results
from show.overlap import overlaps


def with_shares(first, total, places=5, half=0.1):
    """Invented results that carry these shares (variables,) at each of `places` places; the first place has none."""
    results = invented_results.yard()
    names = [SimpleNamespace(code=f"A {k} m to B {k + 1} m", weather="advection fog", segment=k) for k in range(places)]
    nothing = Shares(*[np.full(len(INPUTS), np.nan)] * 6, 0.0)
    some = Shares(first, first - half, first + half, total, total - half, total + half, 0.3)
    add_shares(results, names, [nothing, *[some] * (places - 1)])
    return results


def shares(**values):
    return np.array([values.get(name, 0.0) for name in INPUTS])


@pytest.mark.parametrize("places", [1, 2, 5])
def test_texts_stand_apart_and_the_page_can_be_read_alone(places):
    """Catches: long names under bars, text off the page, no caution."""
    everything = dict.fromkeys(sorted(INPUTS, key=lambda name: -len(WORDS[name]))[:6], 0.9)
    figure = plot_sensitivity(with_shares(shares(**everything), shares(**everything), places))
    assert overlaps(figure) == []
    assert CAUTION in [text.get_text() for text in figure.findobj(Text)]


def test_words_say_what_drives_a_place_and_whether_alone():
    """Catches: the smallest named, a fixed input named, an interplay told as an effect alone."""
    total = shares(drop_radius=0.6, gait=0.35, clo=0.15)
    alone = with_shares(shares(drop_radius=0.5, gait=0.3), total)
    assert drivers_words(alone, 1) == "mostly the fog's drop size, then the gait"
    assert drivers_words(alone, 0) == "nothing that is drawn: every crossing has the same Pd"
    together = with_shares(shares(drop_radius=0.1), total)
    assert drivers_words(together, 1) == "mostly the fog's drop size, then the gait, more in combination than alone"
    unsure = with_shares(shares(drop_radius=0.25), total)
    assert drivers_words(unsure, 1) == "mostly the fog's drop size, then the gait"  # 0.15 to 0.35 of 0.6: half is inside
    words = [text.get_text() for text in plot_sensitivity(alone).findobj(Text)]
    assert "A 1 m to B 2 m: mostly the fog's drop size, then the gait" in words
    assert words.count("60 %") == 4 and "rain rate" not in words


def test_what_intervals_cannot_tell_apart_is_not_ranked():
    """Worked by hand on intervals of 0.1 to each side. Catches: 'mostly' for a largest estimate whose interval meets the next
    one's, a share whose interval holds 0 named or numbered, a title that knows more than the table."""
    close = with_shares(shares(), shares(drop_radius=0.6, gait=0.45, clo=0.3))
    assert drivers_words(close, 1) == "cannot tell whether the fog's drop size or the gait matters most"
    assert drivers_words(with_shares(shares(), shares(drop_radius=0.6, gait=0.39)), 1).startswith("mostly the fog's drop size")
    many = with_shares(shares(), shares(drop_radius=0.3, gait=0.28, clo=0.26, wind=0.24))
    assert drivers_words(many, 1) == ("cannot tell which of 4 inputs matters most; the largest estimate is the fog's drop size")
    noise = with_shares(shares(), shares(drop_radius=0.09, gait=0.05))
    assert drivers_words(noise, 1) == "cannot tell what drives it: the interval of every share holds 0"
    hidden = with_shares(shares(drop_radius=0.5), shares(drop_radius=0.6, gait=0.08))
    assert drivers_words(hidden, 1) == "mostly the fog's drop size"
    words = [text.get_text() for text in plot_sensitivity(hidden).findobj(Text)]
    assert words.count("cannot tell") == 4 and "8 %" not in words and "cannot tell: the interval holds 0" in words
    said = words_of(input_blocks(Results.of(hidden)))
    assert "60 (50 to 70)" in said and "cannot tell (up to 18)" in said


def test_drawn_only_when_the_results_carry_shares(tmp_path):
    """Catches: a picture of nothing, or none when asked for."""
    (tmp_path / "without").mkdir()
    (tmp_path / "with").mkdir()
    assert "sensitivity.png" not in write_pictures(invented_results.yard(), tmp_path / "without")
    assert "sensitivity.png" in write_pictures(with_shares(shares(gait=0.5), shares(gait=0.6)), tmp_path / "with")
    assert (tmp_path / "with" / "sensitivity.png").stat().st_size > 1000
