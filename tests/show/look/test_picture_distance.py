"""The distance picture: what it says and draws must follow from the numbers, in the usual case and in the extremes."""

import numpy as np
import pytest
from matplotlib.collections import LineCollection
from matplotlib.colors import to_hex
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from fencecast.cautions import CAUTION
from fencecast.findings.lenstitles import meets_runs, range_words
from fencecast.show.look.distance import plot_distance
from fencecast.show.paper import style
from fencecast.show.paper.page import LARGEST_PNG_BYTES, save_picture
from show import colours, invented_distances, invented_results
from show.overlap import off_page, overlapping, text_boxes, texts
from show.wording import wrong_words

PAIRS = [("wide", "long"), ("long", "longest"), ("longest",)]
FIGURES = {name: (lambda make=make: plot_distance(make())) for name, make in invented_distances.ALL.items()}
FIGURES["pairs named"] = lambda: plot_distance(invented_distances.three_lenses(), PAIRS)
FIGURES["class without hours"] = lambda: plot_distance(invented_results.class_without_hours())
FIGURES["long titles"] = lambda: plot_distance(invented_results.large(units="us"))


@pytest.mark.parametrize("name", FIGURES)
def test_no_text_overlaps_or_leaves_the_page_and_the_words_are_allowed(name, tmp_path):
    """Catches: labels on each other, labels off the page, promises in words, a lost caution line, files too large to mail."""
    figure = FIGURES[name]()
    assert overlapping(figure) == []
    assert off_page(figure) == []
    assert wrong_words(texts(figure)) == []
    assert CAUTION in texts(figure)
    save_picture(figure, tmp_path / "distance.png")
    assert (tmp_path / "distance.png").stat().st_size <= LARGEST_PNG_BYTES


def test_held_is_at_or_above_the_requirement_and_never_where_there_is_no_data():
    """Worked by hand. Catches: '>' for '>=', NaN counted as held, runs cut or joined at the ends."""
    low = [0.95, 0.89, 0.90, 0.97, np.nan, 0.93, 0.93, 0.2, 0.91]
    assert meets_runs(low, 0.90) == [(0, 0), (2, 3), (5, 6), (8, 8)]
    assert meets_runs([0.1, 0.2], 0.90) == []
    assert meets_runs([], 0.90) == []


@pytest.mark.parametrize(
    ("low", "words"),
    [
        ([0, 0, 1, 1, 1, 0], "6–10 m"),
        ([0, 0, 1, 1, 1, 1], "6 to >12 m"),
        ([1, 1, 1, 0, 0, 0], "<2 to 6 m"),
        ([1, 1, 1, 1, 1, 1], "<2 to >12 m"),
        ([0, 0, 1, 0, 0, 0], "6 m"),
        ([0, 1, 1, 0, 1, 1], "4–6 m, 10 to >12 m"),
        ([1, 0, 1, 0, 1, 0], "three stretches"),
        ([0, 0, 0, 0, 0, 0], "nowhere"),
        ([np.nan] * 6, "no data"),
    ],
)
def test_range_bars_say_where_the_requirement_is_held(low, words):
    """Catches: a far end that claims more than was simulated, a near end forgotten, 'nowhere' for missing data."""
    low = np.array(low, dtype=float)
    assert range_words(meets_runs(low, 0.9), np.arange(2.0, 13.0, 2.0), low) == words


def in_metres(figure, x: float, y: float) -> float:
    """A place below a panel read on that panel's axis, by its tick labels '0' and '80'."""
    ticks = {"0": [], "80": []}
    for text, left, bottom, right, top in text_boxes(figure):
        if text in ticks:
            ticks[text].append((0.5 * (left + right), 0.5 * (bottom + top)))
    height = 25.4 * figure.get_size_inches()[1]
    above = [t for t in ticks["80"] if 0 < t[1] - (height - y) < 12 and t[0] > x - 45]
    far = min(above, key=lambda t: t[0] if t[0] > x else t[0] + 200)
    zero = max((t for t in ticks["0"] if abs(t[1] - far[1]) < 0.5 and t[0] < far[0]), key=lambda t: t[0])
    return 80.0 * (x - zero[0]) / (far[0] - zero[0])


def test_range_bars_begin_and_end_at_the_distances_that_hold():
    """Read on the axis above the bar, by the places of its tick labels. Catches: a bar on another scale or of another class."""
    results = invented_distances.one_lens()
    figure = plot_distance(results)
    bars = [p for p in figure.findobj(Rectangle) if to_hex(p.get_facecolor()).upper() == style.A_COLOUR and p.get_alpha() is None]
    drawn = [[in_metres(figure, bar.get_x() + part * bar.get_width(), bar.get_y()) for part in (1, 0)] for bar in bars]
    distances, held = results["distance"].values, []
    for low in results["pd_distance_low"].sel(lens="wide").values:
        held.append([distances[low >= 0.90][-1], distances[low >= 0.90][0]])
    assert np.allclose(sorted(drawn), sorted(held), atol=0.3)  # 0.3 m is 0.16 mm: the middle of a label is not exactly its tick


def test_curves_are_drawn_at_their_pd():
    """The first panel's curve against its requirement line. Catches: an axis upside down or not linear, a class mixed up."""
    results = invented_distances.usual()
    figure = plot_distance(results)
    curves = [
        c for c in figure.findobj(Line2D) if c.get_color() == style.A_COLOUR and len(c.get_xdata()) == len(results["distance"])
    ]
    needs = [
        line for line in figure.findobj(Line2D) if line.get_linewidth() == 1.1 and line.get_xdata()[1] - line.get_xdata()[0] > 30
    ]
    assert len(curves) == len(needs) == 6
    first = min(curves, key=lambda c: (round(c.get_xdata()[0], 3), np.min(c.get_ydata())))
    level = min(needs, key=lambda c: (round(c.get_xdata()[0], 3), c.get_ydata()[0])).get_ydata()[0]
    pd = results["pd_distance"].sel(lens="wide", weather="warm dusk").values  # the worst class of the invented yard
    height_mm = 33.0  # from Pd 0 to Pd 1, as the brief of the pictures asks
    assert np.allclose(np.asarray(first.get_ydata()) - level, (0.90 - pd) * height_mm, atol=1e-6)


TITLES = {
    "usual": "Warm dusk is worst: 3 mm meets 0.90 from 8 to 26 m, 6 mm from 14 to 50 m",
    "one lens": "Warm dusk is worst: 3 mm meets 0.90 from 8 to 22 m",
    "same focal lengths": "Warm dusk is worst: wide meets 0.90 from 8 to 22 m, long from 8 to 20 m",
    "long lens names": "Warm dusk is worst: wide-angle-with-heater meets 0.90 from 8 to 22 m, long from 8 to 20 m",
    "zero everywhere": "Neither lens meets 0.90 at any distance in any weather class",
    "one everywhere": "Warm dusk is worst: both lenses meet 0.90 at every distance from 2 to 90 m",
    "only one distance": "Warm dusk is worst: 3 mm meets 0.90 at 22 m, 6 mm at 90 m",
    "one nowhere": "Warm dusk is worst: 3 mm meets 0.90 from 8 to 22 m, 6 mm nowhere",
    "worst in different classes": (
        "Worst classes: 0.90 is met by 3 mm from 8 to 22 m (warm dusk), by 6 mm from 14 to 42 m (advection fog)"
    ),
    "US units": "Warm dusk is worst: 3 mm meets 0.90 from 8 to 26 m (26 to 85 ft), 6 mm from 14 to 50 m (46 to 164 ft)",
    "one class": "Clear night: 3 mm meets 0.90 from 8 to 22 m, 6 mm from 14 to 44 m",
}


@pytest.mark.parametrize("name", TITLES)
def test_the_title_is_the_finding(name):
    """Catches: a title that names another class, another lens or another distance than the bars show."""
    assert title_of(plot_distance(invented_distances.ALL[name]())) == TITLES[name]


def title_of(figure) -> str:
    found = [
        t
        for t in figure.findobj(match=lambda a: hasattr(a, "get_text"))
        if t.get_text().strip() and t.get_fontsize() == style.TITLE
    ]
    return " ".join(t.get_text() for t in found)


def test_a_class_without_hours_is_never_the_worst():
    """Catches: a class that never happens giving the title."""
    results = invented_distances.results(
        [[invented_distances.curve(5, h), invented_distances.curve(12, 1.9 * h)] for h in (*invented_distances.HALVES_M, 20)],
        classes=(*invented_results.SIX_CLASSES, ("dense fog, never here", 0, 12.0)),
    )
    figure = plot_distance(results)
    assert title_of(figure) == "Warm dusk is worst: 3 mm meets 0.90 from 8 to 22 m, 6 mm from 14 to 44 m"
    assert "0 h/yr" in texts(figure)


def test_what_is_left_out_is_said():
    """Catches: a thirteenth class or a third lens that vanishes without a word."""
    assert "the worst 12 of 13 classes" in " ".join(texts(plot_distance(invented_distances.thirteen_classes())))
    words = " ".join(texts(plot_distance(invented_distances.three_lenses())))
    assert "not drawn: 9 mm (longest)" in words
    assert "not drawn" not in " ".join(texts(plot_distance(invented_distances.three_lenses(), PAIRS)))


def test_the_two_most_used_lenses_are_drawn_the_shorter_as_a():
    """Catches: lenses by name instead of by use, A and B changing places from site to site."""
    results = invented_distances.three_lenses()
    toml = results.attrs["site_toml"]
    results.attrs["site_toml"] = toml.replace('lens = "long"', 'lens = "longest"')  # one of six cameras; none is left with 6 mm
    figure = plot_distance(results)
    assert [t for t in texts(figure) if "lens, Pd and interval" in t] == [
        "3 mm lens, Pd and interval",
        "9 mm lens, Pd and interval",
    ]


@pytest.mark.parametrize("pairs", [[("wide", "fisheye")], [("wide", "long", "wide")], [()]])
def test_a_pair_that_cannot_be_drawn_is_refused_with_the_lenses_that_can(pairs):
    with pytest.raises(ValueError, match="one or two of the lenses wide, long"):
        plot_distance(invented_distances.usual(), pairs)


def test_a_and_b_differ_without_colour():
    """In grey print: one solid, one dashed; one bar plain, one hatched; and far apart in lightness.

    Catches: two lenses distinguished by hue alone. The difference of L* asked for is 25, what CIE calls easily distinguished in
    large areas being far less (27 was measured for the palette).
    """
    figure = plot_distance(invented_distances.usual())
    lines = {colour: [c for c in figure.findobj(Line2D) if c.get_color() == colour and c.get_linewidth() == 1.4]
             for colour in (style.A_COLOUR, style.B_COLOUR)}  # fmt: skip
    assert all(not line.is_dashed() for line in lines[style.A_COLOUR])
    assert all(line.is_dashed() for line in lines[style.B_COLOUR])
    assert len(lines[style.A_COLOUR]) == len(lines[style.B_COLOUR]) == 7  # six panels and the key
    white = [c for c in figure.findobj(LineCollection) if to_hex(c.get_color()[0]).upper() == style.PAPER]
    assert len(white) == 6  # the hatch of B's range bars
    assert abs(colours.lightness(style.A_COLOUR) - colours.lightness(style.B_COLOUR)) > 25


def test_feet_stand_under_metres_for_us_sites():
    """20 m are 65.6 ft. Catches: a second scale that is not the first in feet."""
    words = texts(plot_distance(invented_distances.usual(units="us")))
    assert words.count("66") == 6
    assert "66" not in texts(plot_distance(invented_distances.usual()))


def test_range_bars_and_their_note_have_feet_for_us_sites():
    """2 m are 6.56 ft, 120 m 393.7, 7 and 29 m 22.97 and 95.1. Catches: an axis in feet above bars in metres alone."""
    apart = np.array([2.0, 7.0, 29.0, 120.0])
    for runs, words in (
        ([(1, 2)], "7–29 m (23–95 ft)"),
        ([(2, 2)], "29 m (95 ft)"),
        ([(0, 1)], "<2 to 7 m (<7 to 23 ft)"),
        ([(2, 3)], "29 to >120 m (95 to >394 ft)"),
        ([(0, 0), (2, 2)], "2 m, 29 m"),
        ([], "nowhere"),
    ):
        assert range_words(runs, apart, np.ones(4), "us") == words
        assert range_words(runs, apart, np.ones(4)) == words.split(" (")[0]
    results = invented_distances.usual(units="us")
    ends = results["distance"].values[[0, -1]]
    count = results.sizes["distance"]
    words = " ".join(texts(plot_distance(results)))
    feet = [round(end / 0.3048) for end in ends]
    assert f"of {count} simulated from {ends[0]:g} to {ends[1]:g} m ({feet[0]} to {feet[1]} ft)." in words
    assert "from the camera, m and ft." in words
    assert "m and ft" not in " ".join(texts(plot_distance(invented_distances.usual())))


def test_missing_data_is_drawn_as_missing():
    """Catches: a class without data drawn as Pd 0 and called 'nowhere'."""
    figure = plot_distance(invented_distances.gaps())
    words = texts(figure)
    assert words.count("no data") == 3  # in the panel, and for both lenses below it
    assert "nowhere" not in words
    curves = [c for c in figure.findobj(Line2D) if c.get_linewidth() == 1.4 and len(c.get_xdata()) > 2]
    assert len(curves) == 10  # five classes, two lenses
    assert not any(np.isnan(c.get_ydata()).any() for c in curves)


def test_direct_labels_are_nearer_to_their_own_curve():
    """By place on the page, in the first panel. Catches: two names side by side of which one belongs to the other's curve."""
    for name in ("usual", "worst in different classes", "one class", "one nowhere"):
        figure = plot_distance(invented_distances.ALL[name]())
        height = 25.4 * figure.get_size_inches()[1]
        curves = {}
        for colour in (style.A_COLOUR, style.B_COLOUR):
            found = [
                c
                for c in figure.findobj(Line2D)
                if c.get_color() == colour and len(c.get_xdata()) == 45 and c.get_linewidth() == 1.4
            ]
            curves[colour] = min(found, key=lambda c: (round(c.get_xdata()[0], 3), np.min(c.get_ydata())))
        labels = [t for t in figure.findobj(match=lambda a: hasattr(a, "get_text")) if t.get_text() in ("3 mm", "6 mm")]
        labels = [t for t in labels if t.get_fontweight() == "bold"]
        assert len(labels) == 2, name
        for label in labels:
            own = style.A_COLOUR if label.get_text() == "3 mm" else style.B_COLOUR
            x, y = label.get_position()
            assert 0 < y < height
            away = {c: abs(np.interp(x, line.get_xdata(), line.get_ydata()) - (y - 0.9)) for c, line in curves.items()}
            assert away.pop(own) < min(away.values()), name
