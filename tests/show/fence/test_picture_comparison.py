"""The comparison's pictures and the strip after a loss: what they say and draw follows from the numbers, also in extremes."""

import numpy as np
import pytest
from matplotlib.collections import PolyCollection
from matplotlib.colors import to_hex
from matplotlib.patches import Rectangle

from fencecast.cautions import CAUTION
from fencecast.decide.losses import LOSS_MEANINGS
from fencecast.show.fence.comparison import ROW_MM, plot_comparison
from fencecast.show.fence.loss import plot_worst_loss
from fencecast.show.look.data import curves_differ
from fencecast.show.look.distance import plot_comparison_distance
from fencecast.show.paper import style
from fencecast.show.paper.page import LARGEST_PNG_BYTES, save_picture
from show import invented_comparisons, invented_results
from show.invented_comparisons import comparison, flat
from show.overlap import off_page, overlapping, texts
from show.wording import wrong_words


def title_of(figure) -> str:
    found = [t for t in figure.findobj(match=lambda a: hasattr(a, "get_text")) if t.get_text().strip()]
    return " ".join(t.get_text() for t in found if t.get_fontsize() == style.TITLE)


def with_losses(**changes):
    """An invented run and two invented losses: C1 takes 0.5 of Pd on the west fence, the other camera nothing."""
    results = invented_results.yard(fresh=True, **changes)
    west = results["section"].values == "West fence"
    pd = np.array([np.clip(results["pd"].values - 0.5 * west, 0.0, 1.0), results["pd"].values])
    need = float(results.attrs["requirement_pd"])
    word = np.where(pd + 0.02 < need, "weak", np.where(pd - 0.02 > need, "meets", "undecided"))
    word[1] = results["verdict"].values
    values = {name: np.full((2, *results["pd"].shape), np.nan) for name in LOSS_MEANINGS if name.startswith("pd_loss")}
    values |= {"pd_loss": pd, "pd_loss_low": pd - 0.02, "pd_loss_high": pd + 0.02, "loss_verdict": word}
    values["loss_newly_weak"] = ((word == "weak") & (results["verdict"].values != "weak")).astype(np.int8)
    for name, value in values.items():
        if "year" not in name:
            results[name] = (("loss", "weather", "segment"), value)
    weights = results["weather_hours"].values / results["weather_hours"].values.sum()
    for end, shift in (("", 0.0), ("_low", -0.02), ("_high", 0.02)):
        results[f"pd_loss_year{end}"] = (("loss", "segment"), np.einsum("w,lws->ls", weights, pd) + shift)
        results[f"loss_mean_change{end}"] = (("loss", "weather"), (pd - results["pd"].values).mean(axis=2) + shift)
    results["lost"] = (("loss", "camera"), np.eye(2, results.sizes["camera"], dtype=np.int8))
    return results.assign_coords(loss=["C1", "C2"])


FIGURES = {name: (lambda make=make: plot_comparison(make())) for name, make in invented_comparisons.ALL.items()}
FIGURES["curves"] = lambda: plot_comparison_distance(comparison())
FIGURES["curves with long names"] = lambda: plot_comparison_distance(invented_comparisons.ALL["long names"]())
FIGURES["worst loss"] = lambda: plot_worst_loss(with_losses())
FIGURES["worst loss, US units"] = lambda: plot_worst_loss(with_losses(units="us"))


@pytest.mark.parametrize("name", FIGURES)
def test_no_text_overlaps_or_leaves_the_page_and_the_words_are_allowed(name, tmp_path):
    """Catches: labels on each other, labels off the page, promises in words, a lost caution line, files too large to mail."""
    figure = FIGURES[name]()
    assert overlapping(figure) == []
    assert off_page(figure) == []
    assert wrong_words(texts(figure)) == []
    assert CAUTION in texts(figure)
    save_picture(figure, tmp_path / "comparison.png")
    assert (tmp_path / "comparison.png").stat().st_size <= LARGEST_PNG_BYTES


def test_bars_go_up_where_the_variant_is_better():
    """Read on the first row of an invented fence. Catches: an axis upside down, colours exchanged, a lopsided scale."""
    results = comparison(change=np.where(np.arange(invented_results.yard().sizes["segment"]) % 2, 0.4, -0.2) * np.ones((6, 1)))
    figure = plot_comparison(results)
    bars = [c for c in figure.findobj(PolyCollection) if len(c.get_facecolor()) > 1 and c.get_alpha() is None]
    first = min(bars, key=lambda c: min(path.vertices[:, 1].min() for path in c.get_paths()))
    sizes = {style.A_COLOUR: [], style.B_COLOUR: []}
    for path, colour in zip(first.get_paths(), first.get_facecolor()):
        ys = path.vertices[:4, 1]
        sizes.get(to_hex(colour).upper(), []).append(ys[0] - ys[2])  # zero line less the bar's end: up is positive on paper
    worst = [str(w) for w in results["weather"].values].index("warm dusk")
    expected = results["pd_difference"].values[0, worst] / 0.5 * 0.5 * ROW_MM
    better = expected[results["verdict"].values[0, worst] == "better"]
    assert np.allclose(np.sort(sizes[style.B_COLOUR]), np.sort(better), atol=1e-6) and len(better)
    assert all(size < 0.0 for size in sizes[style.A_COLOUR]) and sizes[style.A_COLOUR]


TITLES = {
    "equal": "Warm dusk: 3 mm and 6 mm are equivalent on all 410 m",
    "undecided": "Warm dusk: 6 mm is better on 0 m and worse on 0 m; no metre changes between weak and meets",
}


@pytest.mark.parametrize("name", TITLES)
def test_the_title_is_the_finding(name):
    """Catches: a winner where there is none."""
    assert title_of(FIGURES[name]()) == TITLES[name]


def test_metres_that_change_sides_are_counted_and_railed():
    """In an invented yard made weak everywhere. Catches: rails for undecided metres, above and below exchanged."""
    results = flat(-0.6)
    figure = plot_comparison(results)
    worst = [str(w) for w in results["weather"].values].index("warm dusk")
    before, after = results["standing"].values[:, worst]
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    lost = lengths[(before == "meets") & (after == "weak")].sum()
    assert title_of(figure) == f"Warm dusk: 6 mm lets no weak metre meet the requirement and makes {lost:.0f} m weak that met it"
    rails = [p for p in figure.findobj(Rectangle) if abs(p.get_height() - style.RAIL_MM) < 1e-9]
    black = [p for p in rails if to_hex(p.get_facecolor()).upper() == style.INK]
    assert len(black) == 1  # the key's
    assert len(rails) > 6


def test_what_is_left_out_and_what_is_short_is_said():
    """Catches: a ninth class that vanishes without a word, letters that nobody explains."""
    assert "the worst eight of 12 classes" in " ".join(texts(FIGURES["twelve classes"]()))
    words = " ".join(texts(FIGURES["long names"]()))
    a, b = invented_comparisons.LONG_NAMES
    assert f"A = {a} · B = {b}" in words and "B better" in words


def test_curves_that_are_the_same_are_known_to_be():
    results = comparison()
    assert curves_differ(results)
    results["pd_distance_difference"].values[:] = 0.0
    assert not curves_differ(results)


def test_the_strip_after_the_worst_loss_is_that_loss():
    """Catches: the strip of the whole site, of another loss, or with the lost camera still drawn."""
    results = with_losses()
    figure = plot_worst_loss(results)
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    most = (results["loss_newly_weak"].values[0] @ lengths).max()
    assert title_of(figure).startswith(f"Without C1: {most:.0f} m newly weak in ")
    said = texts(figure)
    assert "C2" in said and "C1" not in said
    for before, after in zip(results["verdict"].values, results["loss_verdict"].values[0]):
        weak = [f"{lengths[word == 'weak'].sum():.0f}" for word in (before, after)]
        assert weak[1] in said and weak[1] != weak[0]
    assert title_of(plot_worst_loss(results, 1)) == "Without C2: no metre newly weak"
