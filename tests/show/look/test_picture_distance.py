"""The distance picture: what it says and draws must follow from the numbers, in the usual case and in the extremes."""

import numpy as np
import pytest
from matplotlib.collections import LineCollection
from matplotlib.colors import to_hex
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon

from fencecast.cautions import CAUTION
from fencecast.findings.lenstitles import range_words
from fencecast.findings.spans import End, Span, spans_of
from fencecast.show.look.data import distance_data
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


def span_words(low) -> str:
    """Curve and interval in one."""
    values = np.array(low, dtype=float)
    distances = np.arange(2.0, 2.0 + 2.0 * len(values), 2.0)
    spans = None if np.isnan(values).all() else spans_of(distances, values, values, values, 0.9)
    return range_words(spans, distances)


@pytest.mark.parametrize(
    ("low", "words"),
    [
        ([0, 0, 0.9, 1, 0.9, 0], "6–10 m"),
        ([0, 0, 0.9, 1, 1, 1], "6 to beyond 12 m"),
        ([1, 1, 0.9, 0, 0, 0], "<2 to 6 m"),
        ([1, 1, 1, 1, 1, 1], "<2 to beyond 12 m"),
        ([0, 0, 0.9, 0, 0, 0], "6 m"),
        ([0, 0.9, 0.9, 0, 0.9, 1], "4–6 m, 10 to beyond 12 m"),
        ([0.9, 0, 0.9, 0, 0.9, 0], "three stretches"),
        ([0, 0, 0, 0, 0, 0], "nowhere"),
        ([np.nan] * 6, "no data"),
    ],
)
def test_range_bars_say_where_the_requirement_is_reached(low, words):
    """Catches: a far end that claims more than was simulated, a near end forgotten, 'nowhere' for missing data."""
    assert span_words(low) == words


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


def test_range_bars_begin_and_end_where_the_lower_end_crosses():
    """Read on the axis above the bar, by the places of its tick labels; crossings by numpy's own interpolation. Catches: a bar on
    another scale, of another class, or that ends at the simulated distance beside the crossing."""
    results = invented_distances.one_lens()
    figure = plot_distance(results)
    bars = [
        p.get_xy()
        for p in figure.findobj(Polygon)
        if to_hex(p.get_facecolor()).upper() == style.A_COLOUR and p.get_alpha() is None
    ]
    drawn = [[in_metres(figure, corners[k, 0], corners[k, 1]) for k in (1, 0)] for corners in bars if np.ptp(corners[:, 1]) < 3]
    distances, held = results["distance"].values, []
    for low in results["pd_distance_low"].sel(lens="wide").values:
        fine = np.linspace(distances[0], distances[-1], 88001)
        above = fine[np.interp(fine, distances, low) >= 0.90]
        held.append([above[-1], above[0]])
    assert np.allclose(sorted(drawn), sorted(held), atol=0.3)  # 0.3 m is 0.16 mm: the middle of a label is not exactly its tick


def test_outlined_bars_reach_farther_than_full_ones():
    """Catches: the undecided ends of a bar drawn like the shown ones, or not at all."""
    figure = plot_distance(invented_distances.results([[invented_distances.curve(5, 52)]] * 6, lenses=("wide",), half_width=0.1))
    outlined, full = (
        [p.get_xy() for p in figure.findobj(Polygon) if test(p) and np.ptp(p.get_xy()[:, 1]) < 2.5]
        for test in (
            lambda p: to_hex(p.get_edgecolor()).upper() == style.A_COLOUR and p.get_linewidth() > 0,
            lambda p: to_hex(p.get_facecolor()).upper() == style.A_COLOUR and p.get_alpha() is None,
        )
    )
    assert len(outlined) == len(full) == 6
    for wide, narrow in zip(outlined, full):
        assert wide[:, 0].min() < narrow[:, 0].min() and wide[:, 0].max() > narrow[:, 0].max() + 1.0


def test_the_table_of_steps_has_the_lens_s_own_numbers():
    """Catches: a table of another lens, a simulated distance that is not the bars'."""
    results = invented_distances.usual()
    words = texts(plot_distance(results))
    for head in ("90 % of looks", "the same, crouch", "simulated, worst", "class", "long, 6 mm"):
        assert head in words, head
    data = distance_data(results)
    far = {row.lens: [cell for _, cell in row.cells] for row in data.bridge}
    ends = [curve.reaches[-1][1] for panel in data.panels[0] for curve in panel.curves if curve.lens.name == "long"]
    assert far["long, 6 mm"][-2:] == [
        f"beyond {max(ends):.0f} m" if max(ends) == 90 else f"{max(ends):.0f} m",
        f"{min(ends):.0f} m",
    ]
    assert far["wide, 3 mm"][0] == f"{0.5 * (1.8 * 0.5) ** 0.5 / (17e-6 / 3e-3) / 2.0:.0f} m"


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


# Ends as numpy's own linear interpolation of the invented curves has them on a grid of 0.1 mm.
TITLES = {
    "usual": "Warm dusk is worst: 3 mm reaches 0.90 from 7 to 27 m, 6 mm from 14 to 51 m",
    "one lens": "Warm dusk is worst: 3 mm reaches 0.90 from 7 to 24 m",
    "same focal lengths": "Warm dusk is worst: wide reaches 0.90 from 7 to 24 m, long from 8 to 22 m",
    "long lens names": "Warm dusk is worst: wide-angle-with-heater reaches 0.90 from 7 to 24 m, long from 8 to 22 m",
    "zero everywhere": "Neither lens reaches 0.90 at any distance in any weather class",
    "one everywhere": "Warm dusk is worst: both lenses reach 0.90 at every distance from 2 to 90 m",
    "only one distance": "Warm dusk is worst: 3 mm reaches 0.90 at 22 m, 6 mm beyond 90 m",
    "one nowhere": "Warm dusk is worst: 3 mm reaches 0.90 from 7 to 24 m, 6 mm nowhere",
    "worst in different classes": (
        "Worst classes: 0.90 is reached by 3 mm from 7 to 24 m (warm dusk), by 6 mm from 14 to 44 m (advection fog)"
    ),
    "US units": "Warm dusk is worst: 3 mm reaches 0.90 from 7 to 27 m (24 to 88 ft), 6 mm from 14 to 51 m (46 to 168 ft)",
    "one class": "Clear night: 3 mm reaches 0.90 from 7 to 24 m, 6 mm from 14 to 46 m",
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
    assert title_of(figure) == "Warm dusk is worst: 3 mm reaches 0.90 from 7 to 24 m, 6 mm from 14 to 46 m"
    assert "0 h/yr" in texts(figure)


def test_what_is_left_out_is_said():
    """Catches: a thirteenth class or a third lens that vanishes without a word."""
    assert "the worst 12 of 13 classes" in " ".join(texts(plot_distance(invented_distances.thirteen_classes())))
    words = " ".join(texts(plot_distance(invented_distances.three_lenses())))
    assert "No room here for 9 mm (longest)" in words
    assert "No room" not in " ".join(texts(plot_distance(invented_distances.three_lenses(), PAIRS)))


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
    near, far = End(7.0, 6.0, 8.0), End(29.0, 28.0, 30.0)
    for spans, words in (
        ([Span(near, far, True)], "7–29 m (23–95 ft)"),
        ([Span(far, far, True)], "29 m (95 ft)"),
        ([Span(None, near, True)], "<2 to 7 m (<7 to 23 ft)"),
        ([Span(far, None, True)], "29 to beyond 120 m (95 to beyond 394 ft)"),
        ([Span(near, near, True), Span(far, far, True)], "7 m, 29 m"),
        ([], "nowhere"),
    ):
        assert range_words(spans, apart, "us") == words
        assert range_words(spans, apart) == words.split(" (")[0]
    results = invented_distances.usual(units="us")
    ends = results["distance"].values[[0, -1]]
    count = results.sizes["distance"]
    words = " ".join(texts(plot_distance(results)))
    feet = [round(end / 0.3048) for end in ends]
    assert f"between the {count} distances simulated from {ends[0]:g} to {ends[1]:g} m ({feet[0]} to {feet[1]} ft)" in words
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
