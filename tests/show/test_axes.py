"""Pictures in a user's own axes: they draw what the pages draw, and say what pages say."""

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import LineCollection
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

import fencecast as fc
from fencecast.cautions import CAUTION
from fencecast.show.fence.data import plan_data
from fencecast.show.fence.plan import plot_plan
from fencecast.show.fence.planaxes import WEAK_POINTS, stretches
from fencecast.show.fence.profile import plot_profile
from fencecast.show.fence.profiledata import profile_data
from fencecast.show.fence.sensitivity import plot_sensitivity
from fencecast.show.look.distance import plot_distance
from fencecast.show.paper import style
from fencecast.show.paper.page import LARGEST_PNG_BYTES, save_picture
from show import invented_distances, invented_results
from show.overlap import off_page, overlapping, texts
from show.wording import wrong_words


@pytest.fixture
def ax():
    figure = Figure(layout="constrained")
    FigureCanvasAgg(figure)
    return figure.add_subplot()


def drawn(ax) -> str:
    """All texts of the axes' figure after drawing, on one line."""
    ax.figure.canvas.draw()
    return " ".join(" ".join(texts(ax.figure)).split())


def curve(ax, colour):
    """The points of the line of this colour."""
    lines = [line for line in ax.lines if to_hex(line.get_color()).upper() == colour]
    return np.concatenate([line.get_xydata() for line in lines])


CALLS = {
    "distance": lambda ax: plot_distance(invented_distances.usual(), ax=ax),
    "profile": lambda ax: plot_profile(invented_results.yard(), ax=ax),
    "plan": lambda ax: plot_plan(invented_results.yard(), ax=ax),
}


@pytest.mark.parametrize("name", CALLS)
def test_the_axes_come_back_with_the_caution_on_the_page(name, ax):
    """Catches: a figure of its own in place of the user's, a caution that is lost or falls off the page, other texts off it."""
    before = list(ax.figure.axes)
    assert CALLS[name](ax) is ax
    assert CAUTION in drawn(ax) and wrong_words(texts(ax.figure)) == []
    assert ax.figure.axes[: len(before)] == before
    assert off_page(ax.figure) == []


@pytest.mark.parametrize("name", ["distance", "profile"])
def test_the_caution_has_room_under_plain_axes(name):
    """A figure as it comes, 6.4 by 4.8 inches without a layout. Catches: a caution that the edge of the picture cuts."""
    figure = Figure(figsize=(6.4, 4.8))
    FigureCanvasAgg(figure)
    CALLS[name](figure.add_subplot())
    figure.canvas.draw()
    caution = next(text for text in figure.findobj(lambda a: hasattr(a, "get_text")) if text.get_text() == CAUTION)
    box = caution.get_window_extent()
    assert box.y0 >= 0.0 and box.x0 >= 0.0 and box.x1 <= figure.bbox.width


def test_a_condition_is_said_with_the_caution(ax):
    """Catches: chosen hours drawn as all hours."""
    results = invented_results.yard().assign_attrs(stress="visibility_m<=100", stress_hours=21.0, stress_of_hours=4344.0)
    plot_profile(results, ax=ax)
    assert "visibility_m<=100" in drawn(ax)


def test_curves_of_distance_are_the_class_s_own(ax):
    """Catches: another class, lenses swapped, an interval of another lens, a requirement that is not the site's."""
    results = invented_distances.usual()
    plot_distance(results, weather="clear night", ax=ax)
    mine = results.sel(weather="clear night")
    for lens, colour in (("wide", style.A_COLOUR), ("long", style.B_COLOUR)):
        assert np.allclose(curve(ax, colour), np.column_stack([results["distance"], mine["pd_distance"].sel(lens=lens)]))
    assert curve(ax, style.INK)[:, 1].tolist() == [0.9, 0.9]
    assert ax.get_title().startswith("clear night, 2,650 h/yr") and ax.get_ylim() == (0.0, 1.0)
    worst = Figure().add_subplot()
    plot_distance(results, ax=worst)
    assert worst.get_title().split(",")[0] == fc.Results(results).worst_first[0].name


@pytest.mark.parametrize("weather", ["worst", "year", "warm dusk"])
def test_the_profile_draws_its_numbers_segment_by_segment(weather, ax):
    """Catches: a class for the worst one, an interval that is not beside its Pd, a step at the wrong metre, joints bridged."""
    results = invented_results.part_without_data()
    plot_profile(results, weather, ax=ax)
    name = {"worst": "pd_worst", "year": "pd_year"}.get(weather)
    want = results[name].values if name else results["pd"].sel(weather=weather).values
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    middles = np.cumsum(lengths) - 0.5 * lengths  # along the whole walk
    steps = [line.get_xydata() for line in ax.lines if line.get_linewidth() == 0.9]
    at, pd = np.concatenate(steps).reshape(-1, 2, 2).transpose(2, 0, 1)
    known = ~np.isnan(want)
    assert np.allclose(at.mean(axis=1), middles[known]) and np.allclose(pd, want[known][:, None])
    assert len(steps) == 5  # four sections, one of them in two parts
    assert ("no data" in drawn(ax)) and ax.get_xlim() == (0.0, pytest.approx(lengths.sum()))
    edges = [path.get_extents() for band in ax.collections for path in band.get_paths()]
    assert min(box.y0 for box in edges) == pytest.approx(profile_data(results, weather).low[known].min())


def test_ticks_of_the_profile_are_the_metres_of_codes(ax):
    """Catches: metres along the whole walk, which no place code has."""
    plot_profile(invented_results.yard(), ax=ax)
    labels = [(tick, label.get_text()) for tick, label in zip(ax.get_xticks(), ax.get_xticklabels())]
    assert [tick for tick, label in labels if label == "0"] == pytest.approx([0.0, 70.0, 215.612, 269.612], abs=0.01)


@pytest.mark.parametrize("name", ["yard", "part_without_data", "short_sections", "closed_ring", "us_large", "one_class"])
def test_the_profile_s_page_is_one_of_the_pictures(name, tmp_path):
    """Catches: texts on each other or off the page, words that promise, a file too large to mail."""
    figure = plot_profile(invented_results.ALL[name]())
    assert isinstance(figure, Figure)
    assert overlapping(figure) == [] and off_page(figure) == [] and wrong_words(texts(figure)) == []
    assert CAUTION in texts(figure)
    save_picture(figure, tmp_path / "profile.png")
    assert (tmp_path / "profile.png").stat().st_size <= LARGEST_PNG_BYTES


def test_the_profile_s_title_counts_weak_metres():
    """Catches: metres of undecided segments counted, another class's."""
    results = fc.Results(invented_results.yard())
    weak = next(c.weak_m for c in results.summaries if c.name == "warm dusk")
    assert profile_data(results, "warm dusk").title == f"Warm dusk: {weak:.0f} m of 410 m weak"
    assert profile_data(invented_results.all_meet()).title == "Worst class of each place: no metre weak"


def test_the_plan_has_the_fence_in_metres_and_weak_stretches_with_black_edges(ax):
    """Lengths by shapely's own geometry. Catches: a band of another class, weak metres that are not marked, a y axis that points
    down, a site out of scale."""
    results = invented_results.section_without_data()
    plot_plan(results, "heavy rain", ax=ax)
    data = plan_data(results)
    row = next(row for row in data.rows if row.summary.name == "heavy rain")
    weak = next(each for each in ax.collections if isinstance(each, LineCollection) and each.get_linewidths()[0] == WEAK_POINTS)
    length = sum(np.hypot(*np.diff(line, axis=0).T).sum() for line in weak.get_segments())
    assert length == pytest.approx(row.summary.weak_m, abs=1e-6)
    words = np.array([f"{k % 3}" for k in range(len(row.pd))])
    middle = {tuple(np.round(line.mean(axis=0), 6)) for line, _ in stretches(data.fence, words)}
    assert {tuple(np.round(p, 6)) for p in zip(results["x_m"].values[:35], results["y_m"].values[:35])} <= middle
    assert ax.get_aspect() == 1.0 and ax.get_ylim()[0] < ax.get_ylim()[1]
    said = drawn(ax)
    assert "no data (dotted)" in said and "weak (black edges)" in said and all(c.mark in said for c in data.fence.site.camera)


def test_shares_of_one_place(ax):
    """Catches: bars of another place, a share alone that cannot be told drawn as one."""
    from show.fence.test_picture_sensitivity import shares, with_shares

    results = with_shares(shares(drop_radius=0.5, gait=0.05), shares(drop_radius=0.6, gait=0.35, clo=0.05))
    plot_sensitivity(results, "A 2 m to B 3 m", ax=ax)
    dark = [bar.get_width() for bar in ax.patches if to_hex(bar.get_facecolor()).upper() == style.A_COLOUR]
    grey = [bar.get_width() for bar in ax.patches if to_hex(bar.get_facecolor()).upper() == style.BAND]
    assert dark == [0.5] and grey == [0.6, 0.35]
    assert "clothing insulation (cannot tell)" in drawn(ax) and ax.get_title() == "A 2 m to B 3 m, advection fog"
    with pytest.raises(fc.UsageError, match='"A 2 m to B 9 m".*did you mean'):
        plot_sensitivity(results, "A 2 m to B 9 m", ax=ax)


@pytest.mark.parametrize("draw", [plot_distance, plot_profile, plot_plan])
def test_what_cannot_be_drawn_says_why(draw, ax):
    """Catches: a KeyError for a misspelt class, an AttributeError for a list of axes, a class that a page passes over."""
    results = invented_distances.usual()
    with pytest.raises(fc.UsageError, match='did you mean "clear night"'):
        draw(results, weather="clear nigth", ax=ax)
    with pytest.raises(fc.UsageError, match="list is no matplotlib axes; type for instance figure, ax = plt.subplots"):
        draw(results, ax=[ax])
    if draw is not plot_profile:
        with pytest.raises(fc.UsageError, match="goes with ax="):
            draw(results, weather="clear night")
