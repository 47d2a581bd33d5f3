"""The picture of shares: measured with the renderer, with long words, places without spread, and shares beyond 0 and 1."""

from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.text import Text

from fencecast.cautions import CAUTION
from fencecast.estimate.sensitivity import INPUTS, WORDS, Shares, add_shares, drivers_words
from fencecast.show.fence.sensitivity import plot_sensitivity
from fencecast.show.write import write_pictures
from show import invented_results
from show.overlap import overlaps


def with_shares(first, total, places=5):
    """Invented results that carry these shares (variables,) at each of `places` places; the first place has none."""
    results = invented_results.yard()
    names = [SimpleNamespace(code=f"A {k} m to B {k + 1} m", weather="advection fog", segment=k) for k in range(places)]
    nothing = Shares(*[np.full(len(INPUTS), np.nan)] * 6, 0.0)
    some = Shares(first, first - 0.1, first + 0.1, total, total - 0.1, total + 0.1, 0.3)
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
    total = shares(drop_radius=0.6, gait=0.4, clo=0.1)
    alone = with_shares(shares(drop_radius=0.5, gait=0.3), total)
    assert drivers_words(alone, 1) == "mostly the fog's drop size and the gait"
    assert drivers_words(alone, 0) == "nothing that is drawn: every crossing has the same Pd"
    together = with_shares(shares(drop_radius=0.1), total)
    assert drivers_words(together, 1) == "mostly the fog's drop size and the gait, more in combination than alone"
    words = [text.get_text() for text in plot_sensitivity(alone).findobj(Text)]
    assert "A 1 m to B 2 m: mostly the fog's drop size and the gait" in words
    assert words.count("60 %") == 4 and "rain rate" not in words


def test_drawn_only_when_the_results_carry_shares(tmp_path):
    """Catches: a picture of nothing, or none when asked for."""
    (tmp_path / "without").mkdir()
    (tmp_path / "with").mkdir()
    assert "sensitivity.png" not in write_pictures(invented_results.yard(), tmp_path / "without")
    assert "sensitivity.png" in write_pictures(with_shares(shares(gait=0.5), shares(gait=0.6)), tmp_path / "with")
    assert (tmp_path / "with" / "sensitivity.png").stat().st_size > 1000
