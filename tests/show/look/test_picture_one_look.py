"""The budget of one look: bars, labels and title must follow from the rungs, in the usual case and in the extremes."""

import math

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Polygon, Rectangle

from fencecast.cautions import CAUTION
from fencecast.findings.looktext import kelvin_text
from fencecast.findings.lookwords import finding
from fencecast.show.look.onelook import BAR_MM, plot_one_look
from fencecast.show.paper import style
from fencecast.show.paper.page import LARGEST_PNG_BYTES, save_picture
from show import invented_looks
from show.overlap import off_page, overlapping, text_boxes, texts
from show.wording import wrong_words

LOOKS = invented_looks.looks()


def picture(name: str, units: str = "si"):
    return plot_one_look(LOOKS[name], invented_looks.invented_site(units))


def bars(figure) -> list[Rectangle]:
    """The bars of part 1, from the top of the page down."""
    found = [p for p in figure.findobj(Rectangle) if p.get_linewidth() and abs(p.get_height() - BAR_MM) < 1e-9]
    return sorted(found, key=lambda bar: bar.get_y())


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("name", LOOKS)
def test_no_text_overlaps_or_leaves_the_page_and_the_words_are_allowed(name, units, tmp_path):
    """Catches: labels on each other, labels off the page, promises in words, a lost caution line, files too large to mail."""
    figure = picture(name, units)
    assert overlapping(figure) == []
    assert off_page(figure) == []
    assert wrong_words(texts(figure)) == []
    assert CAUTION in texts(figure)
    assert any("one look, medians, no crossings" in text for text in texts(figure))
    save_picture(figure, tmp_path / "look.png")
    assert (tmp_path / "look.png").stat().st_size <= LARGEST_PNG_BYTES


@pytest.mark.parametrize("name", ["fog", "clear", "colder than the ground", "under the noise"])
def test_equal_lengths_are_equal_factors(name):
    """Bar length over |ln factor| is one number. Catches: a linear axis, a bar from the wrong contrast."""
    factors = [rung["factor"] for rung in LOOKS[name]["rungs"] if rung["part"] == 1 and rung["factor"] is not None]
    lengths = [bar.get_width() for bar in bars(picture(name))]
    assert len(lengths) == len(factors)
    per_factor = np.array(lengths) / np.abs(np.log(np.abs(factors)))
    assert np.allclose(per_factor, per_factor[0], rtol=1e-9)


def test_noise_and_threshold_stand_where_the_axis_says():
    """Read on the axis by its own tick labels. Catches: a line drawn at another value than its label."""
    figure = picture("fog")
    ticks = {text: 0.5 * (left + right) for text, left, _, right, _ in text_boxes(figure) if text in ("0.1", "1", "2")}
    # '1' is also the end of the axis of part 2: 0.1 and 2 give the scale.
    per_decade = (ticks["2"] - ticks["0.1"]) / math.log10(20)
    upright = [c for c in figure.findobj(Line2D) if len(c.get_xdata()) == 2 and c.get_xdata()[0] == c.get_xdata()[1]]
    threshold = next(c for c in upright if c.is_dashed())
    noise = next(c for c in upright if c.get_color() == style.SECOND and c.get_linewidth() == 1.0)
    for line, value_k in ((noise, 0.09), (threshold, 0.44)):
        drawn = 0.1 * 10 ** ((line.get_xdata()[0] - ticks["0.1"]) / per_decade)
        assert drawn == pytest.approx(value_k, rel=0.02)  # 0.3 mm of a label's middle


def test_the_largest_loss_alone_is_coloured_and_bold():
    figure = picture("fog")
    coloured = [bar for bar in bars(figure) if to_hex(bar.get_facecolor()).upper() == style.LARGEST_LOSS]
    assert len(coloured) == 1
    assert coloured[0] is bars(figure)[2]  # after emissivity and water vapour
    bold = [t.get_text() for t in figure.findobj(match=lambda a: hasattr(a, "get_text")) if t.get_fontweight() == "bold"]
    assert "fog" in bold
    assert "× 0.164" in bold
    assert "water vapour" not in bold


def test_a_gain_is_an_open_bar_and_never_the_largest_loss():
    """Catches: a gain drawn like a loss (the air between body and ground can add contrast)."""
    figure = picture("clear")
    gain = bars(figure)[2]
    assert to_hex(gain.get_facecolor()).upper() == style.PAPER
    assert sum(to_hex(bar.get_facecolor()).upper() == style.PAPER for bar in bars(figure)) == 1
    assert any("open: a gain" in text for text in texts(figure))
    assert not any("open: a gain" in text for text in texts(picture("fog")))


def test_a_negative_contrast_keeps_its_sign_in_the_label_and_its_size_in_the_bar():
    """Catches: a lost minus, a bar that cannot be drawn because its contrast is negative."""
    figure = picture("colder than the ground")
    assert "−1.31 K" in texts(figure)
    assert len([c for c in figure.findobj(Circle) if c.radius < 1]) == 7 + 4  # a dot for each step of both parts
    assert any("a minus means colder than the ground" in text for text in texts(figure))
    assert not any("a minus" in text for text in texts(picture("fog")))


def test_contrast_that_leaves_the_axis_is_an_arrow_with_its_value():
    """Zero, and far below the axis. Catches: log of zero, a dot at the axis's end that reads as a value."""
    for name, label, count in (("no contrast", "0 K", 3), ("thick fog", "<0.0001 K", 4)):
        figure = picture(name)
        arrows = [p for p in figure.findobj(Polygon) if len(p.get_xy()) == 4 and p.get_facecolor()[:3] == (26 / 255,) * 3]
        assert len(arrows) == count
        assert texts(figure).count(label) == count
        assert "arrow: smaller than the axis shows" in " ".join(texts(figure))
    assert "arrow" not in " ".join(texts(picture("fog")))


def test_a_factor_is_printed_only_where_there_is_one():
    """From 0 to 0 there is none, from something to 0 it is 0, from 0 to something it is said. Catches: × nan, × 1.000."""
    words = texts(picture("lost on the way"))
    assert "× 0" in words
    assert len([word for word in words if word.startswith("× ")]) == 1
    assert "from 0" in texts(picture("no contrast"))
    assert not any("nan" in word or "inf" in word for word in words + texts(picture("no contrast")))


def test_shares_are_bars_from_zero_to_one():
    """Catches: part 2 on the scale of part 1, a probability beside another one's bar."""
    figure = picture("fog")
    lines = [c for c in figure.findobj(Line2D) if c.get_color() == style.LINE and c.get_linewidth() == 0.7]
    ends = sorted((c.get_ydata()[0], c.get_xdata()[0], c.get_xdata()[1]) for c in lines)
    guides = [
        c.get_xdata()[0] for c in figure.findobj(Line2D) if c.get_color() == style.GUIDE and c.get_xdata()[0] == c.get_xdata()[1]
    ]
    zero, one = min(guides), ends[0][2]
    values = [rung["value"] for rung in LOOKS["fog"]["rungs"] if rung["part"] == 2]
    assert [(start - zero) / (one - zero) for _, start, _ in ends] == pytest.approx(values, abs=0.005)


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("fog", "One look by C3 at 40 m counts with chance 0.05; fog leaves 0.16 of the contrast"),
        ("clear", "One look by C3 at 20 m counts with chance 0.94; nearly all the contrast arrives"),
        (
            "clear and far",
            "One look by C3 at 40 m counts with chance 0.17; nearly all the contrast arrives, "
            "weakest step: enough detail to classify",
        ),
        (
            "under the noise",
            "One look by C3 at 40 m counts with chance under 0.01; fog leaves under 0.01 of the contrast, less than the noise",
        ),
        (
            "no contrast",
            "One look by quay end at 40 m counts with chance under 0.01; the torso starts with no contrast to the ground",
        ),
        (
            "sign turns",
            "One look by C3 at 40 m counts with chance under 0.01; air between body and ground: the contrast changes sign",
        ),
    ],
)
def test_the_title_is_the_finding(name, title):
    """Catches: a title that names another step than the one with the smallest factor, or hides a torso without contrast."""
    assert finding(LOOKS[name]) == title


def test_two_things_named_leave_and_one_leaves():
    rungs = invented_looks.ladder(2.0, [("rain and snow", "", 1.0, ""), ("window", "", 0.9, "")], 0.9, 1.0, 2.0)
    assert "rain and snow leave 0.50 of the contrast" in finding(invented_looks.explanation(rungs))
    rungs = invented_looks.ladder(2.0, [("air between body and ground", "", 1.0, "")], 0.9, 1.0, 2.0)
    assert "air between body and ground leaves 0.50 of the contrast" in finding(invented_looks.explanation(rungs))


@pytest.mark.parametrize(
    ("value_k", "text"),
    [
        (2.5349, "2.53 K"),
        (0.3816, "0.382 K"),
        (-0.04211, "−0.0421 K"),
        (0.99996, "1.00 K"),
        (12.345, "12.3 K"),
        (123.4, "123 K"),
        (0.0, "0 K"),
        (3e-5, "<0.0001 K"),
    ],
)
def test_contrasts_carry_three_figures(value_k, text):
    """By hand: what a reviewer needs to redo a step with a calculator. Catches: 0.00 K for 4 mK, rounding that adds a figure."""
    assert kelvin_text(value_k) == text


def test_fahrenheit_degrees_of_a_difference_have_no_offset():
    """1 K is 1.8 °F of difference. Catches: 33.8 °F."""
    assert kelvin_text(1.0, "us") == "1.00 K (1.80 °F)"


def test_the_picture_for_us_sites_has_no_metre_alone_beside_the_chart():
    """Catches: a subtitle or a step left in metres and degrees Celsius. What is to be checked by hand stays in metres."""
    look = {**LOOKS["fog"], "fog_text": "optical range 70 m", "fog_text_us": "optical range 70 m (230 ft)"}
    look["rungs"] = [{**rung, "detail_us": f"{rung['detail']} (ft)"} if rung["part"] == 1 else rung for rung in look["rungs"]]
    words = " ".join(texts(plot_one_look(look, invented_looks.invented_site("us"))))
    steps = [rung["detail_us"] for rung in look["rungs"] if rung["part"] == 1]
    assert steps and all(step in words for step in steps)
    assert "optical range 70 m (230 ft)" in words


@pytest.mark.parametrize("name", ["fog", "sign turns"])
def test_every_check_is_printed_whole(name):
    """One line or two. Catches: a check that is cut off where the reviewer needs its last digit."""
    printed = " ".join(texts(picture(name)))
    for rung in LOOKS[name]["rungs"]:
        assert rung["check"] in printed
