"""The report's figures: what they draw and the data beside them, against the results and against the pictures."""

import re

import numpy as np
import pytest
from matplotlib.collections import PolyCollection
from matplotlib.colors import to_hex
from shapely import Point, Polygon, unary_union

from fencecast.estimate.results import Results
from fencecast.show.fence.data import class_rows, fence_of
from fencecast.show.fence.planframe import plan_turn
from fencecast.show.fence.planview import PlanView
from fencecast.show.fence.strip import LEFT, RIGHT, plot_fence_strip
from fencecast.show.paper import style
from fencecast.show.paper.page import Page
from fencecast.show.svg import bars, keys
from fencecast.show.svg.plan import plan_svg
from fencecast.show.svg.strips import cause_svg, strip_svg
from fencecast.show.svg.year import carpet_svg
from show import invented_hours, invented_results, svgread
from show.overlap import texts

SIZES = ("yard", "part_without_data", "large", "closed_ring", "requirement_0.50", "one_class")
LETTERS = {"weak": "w", "undecided": "u", "meets": "m", "no data": "n"}


@pytest.fixture(scope="module", params=SIZES)
def case(request):
    results = invented_results.ALL[request.param]()
    return results, plan_svg(results)


def inks(svg):
    """Path data of every ink in the figure."""
    return {n.attrib["data-ink"]: n.attrib.get("d", "") for n in svgread.elements(svg) if n.attrib.get("class") == "ink"}


def joined(plan, row):
    """What a script does: the cells of each ink one after the other."""
    found = dict.fromkeys(plan.inks, "")
    for i, (step, verdict) in enumerate(zip(plan.steps[row], plan.verdicts[row])):
        found["n" if step == "-" else ("u" if verdict == "u" else "c") + step] += plan.cells[i]
        found["rail"] += plan.rails[i] if verdict == "w" else ""
    return found


def test_a_script_joins_the_bytes_that_stand_in_the_figure(case):
    """For every row the figure of that row against cells joined by ink here. Catches: a script that draws another plan."""
    results, plan = case
    assert inks(plan.svg) == joined(plan, 0)
    for row in range(1, len(plan.rows)):
        assert inks(plan_svg(results, row=row).svg) == joined(plan, row)


def test_steps_and_verdicts_are_those_of_the_results(case):
    """Every letter against the results' own numbers; classes worst first. Catches: rows in another order than their names."""
    results, plan = case
    ramp = style.fence7(float(results.attrs["requirement_pd"]))
    names = [str(name) for name in results["weather"].values]
    assert sorted(plan.rows[: len(names)]) == sorted(names)
    for name, steps, verdicts in zip(plan.rows, plan.steps, plan.verdicts):
        if name not in names:
            continue
        w = names.index(name)
        pd = results["pd"].values[w]
        assert steps == "".join("-" if np.isnan(p) else str(sum(p >= e for e in ramp.edges[1:-1])) for p in pd)
        assert verdicts == "".join(LETTERS[str(v)] for v in results["verdict"].values[w])


def test_the_cells_of_the_plan_are_those_of_the_picture(case):
    """Cells of the worst class by colour, from a plan of the same place and size drawn as a picture. Catches: inks on other cells
    than the picture's, a cell of a corner that is left out."""
    results, plan = case
    fence, page, space = fence_of(Results.of(results)), Page(88.0, 0.0), (88.0 - 3.2, 88.0 - 2.2)
    view = PlanView(page, fence, 1.6, 1.1, *space, plan_turn(fence.site, *space))
    view.band_of(class_rows(Results.of(results))[0], style.fence7(fence.requirement))
    drawn = {}
    for artist in page.axes.collections:
        if isinstance(artist, PolyCollection):
            for path, colour in zip(artist.get_paths(), np.resize(artist.get_facecolors(), (len(artist.get_paths()), 4))):
                kind = "rail" if artist.get_zorder() == 5 else "cell"
                drawn.setdefault((kind, to_hex(colour)), []).append(svgread.straight(path.vertices[:-1]))
    own = {}
    for mark in svgread.marks(plan.svg):
        if mark.attributes.get("class") == "ink" and mark.attributes["data-ink"] not in ("n", "rail"):
            own.setdefault(("cell", fill_of(mark)), []).append(mark.corners)
    assert set(own) == {k for k in drawn if k[0] == "cell"}
    for key, polygons in own.items():
        assert svgread.unmatched(drawn[key], polygons) == ([], []), key


def fill_of(mark):
    """The colour of a cell, or the one between the lines of its hatch."""
    fill = mark.attributes["fill"].lower()
    return fill if fill.startswith("#") else f"#{fill.rstrip(')').split('-')[-1]}"


def test_every_segment_has_its_place_on_the_plan(case):
    """Catches: a ring that marks another metre: the middle of a straight cell lies in that cell."""
    _, plan = case
    for cell, (x, y) in zip(plan.cells, plan.at):
        shape = unary_union([Polygon(c).buffer(0.02) for c in svgread.subpaths(cell) if len(c) > 2])
        assert shape.is_empty or shape.contains(Point(x, y))  # a metre within a sharp corner has no cell


def test_dark_cells_are_hatched_in_white():
    """The ink of the hatch by the step under it. Catches: a black hatch that drowns, no hatch at all."""
    plan = plan_svg(invented_results.yard())
    fills = {n.attrib["data-ink"]: n.attrib["fill"] for n in svgread.elements(plan.svg) if n.attrib.get("class") == "ink"}
    for k, colour in enumerate(style.fence7(0.9).colours):
        hatch = "ffffff" if colour in ("#3A1809", "#6C2C0E", "#9F4415") else "1a1a1a"
        assert fills[f"c{k}"] == colour and fills[f"u{k}"] == f"url(#plan-rising-1-{hatch}-{colour[1:].lower()})"
    assert len(fills) == 16


@pytest.mark.parametrize("size", ["yard", "short_sections", "twelve_classes", "part_without_data"])
def test_the_strip_says_what_the_picture_says(size):
    """All texts of the figure are texts of the picture; rows and metres lie where the data says. Catches: a row without a name, a
    figure that says more or less than the picture, tops of other rows."""
    results = invented_results.ALL[size]()
    figure = strip_svg(results)
    written = [m for m in svgread.marks(figure.svg) if m.kind == "text"]
    of_picture = texts(plot_fence_strip(results))
    for mark in written:
        assert mark.text in of_picture
        of_picture.remove(mark.text)
    frames = [m for m in svgread.marks(figure.svg) if m.attributes.get("fill") == "none" and len(m.corners) == 4]
    for name, top in zip(figure.rows, figure.tops, strict=True):
        beside = [m for m in written if m.text == name or name.startswith(m.text)]
        assert any(top - 0.5 < m.corners[0][1] < top + figure.row_mm + 0.5 for m in beside), name
        assert any(min(y for _, y in m.corners) == pytest.approx(top, abs=0.02) for m in frames), name
    assert len(figure.x) == results.sizes["segment"] and min(figure.x) > LEFT and max(figure.x) < RIGHT
    assert figure.height_mm > max(m.corners[0][1] for m in written)


def test_marks_for_a_script_are_hidden_and_lie_between_the_rows():
    """Catches: an arrow that a page without a script shows, a tick that hides a metre of a row."""
    for figure in (strip_svg(invented_results.yard()), cause_svg(invented_results.yard())):
        found = [n for n in svgread.elements(figure.svg) if n.attrib.get("class") in ("here", "row")]
        assert found and all(n.attrib["visibility"] == "hidden" for n in found)
        for node in found[0]:
            for points in svgread.subpaths(node.attrib["d"]):
                for top in figure.tops:
                    assert all(y <= top + 0.01 or y >= top + figure.row_mm - 0.01 for _, y in points)
    bare = [plan_svg(invented_results.yard(), marker=False), strip_svg(invented_results.yard(), marker=False)]
    assert all("visibility" not in figure.svg for figure in bare)


def test_bars_have_the_lengths_of_their_numbers():
    """Catches: shares of the wrong whole, an interval that leaves its line, a dot where there is no Pd."""
    bar = svgread.marks(bars.share_bar_svg(40, 20, 30, 10).svg)
    black = next(m for m in bar if m.attributes["fill"] == style.INK)
    assert max(x for x, _ in black.corners) - min(x for x, _ in black.corners) == pytest.approx(0.4 * 35.0, abs=0.02)
    assert "#" not in re.sub(r"#[0-9A-Fa-f]{6}", "", bars.share_bar_svg(40, 20, 30, 10).svg)  # no ids: a page has many
    dot = bars.pd_dot_svg(0.53, 0.5, 0.6, 0.9)
    at = {m.attributes["class"]: m.corners for m in svgread.marks(dot.svg) if "class" in m.attributes}
    wide = dot.x1 - dot.x0
    assert at["pt"][0][0] == pytest.approx(dot.x0 + 0.53 * wide, abs=0.01)
    assert [x for x, _ in at["ci"]] == pytest.approx([dot.x0 + 0.5 * wide, dot.x0 + 0.6 * wide], abs=0.01)
    none = bars.pd_dot_svg(float("nan"), float("nan"), float("nan"), 0.9).svg
    assert none.count('visibility="hidden"') == 2 and "nan" not in none
    misses = svgread.marks(bars.cause_bar_svg({"not in view": 0.25, "too small": 0.75}).svg)
    blue = next(m for m in misses if m.attributes["fill"] == style.CAUSES["too small"][0])
    assert max(x for x, _ in blue.corners) - min(x for x, _ in blue.corners) == pytest.approx(45.0, abs=0.02)


NO_SHARES = (
    lambda: bars.share_bar_svg(0, 0, 0),
    lambda: bars.share_bar_svg(-1, 2, 3),
    lambda: bars.cause_bar_svg({"too small": 1.2}),
)


@pytest.mark.parametrize("call", NO_SHARES)
def test_bars_refuse_what_is_no_share(call):
    """Catches: a bar of nothing, one that is longer than its frame."""
    with pytest.raises(ValueError, match="not"):
        call()


def test_a_carpet_needs_hours():
    """Catches: a figure of nothing for a site without a record."""
    assert carpet_svg(invented_results.yard()) is None
    carpet = carpet_svg(invented_hours.yard())
    assert carpet.title in carpet.svg.replace("&amp;", "&") and len(carpet.svg) < 120_000


def test_same_results_give_the_same_bytes():
    """Twice in one process, the second time after other figures. Catches: counters in ids, an order that depends on a set."""
    results = invented_hours.yard()
    makers = (plan_svg, strip_svg, cause_svg, carpet_svg)
    first = [make(results).svg for make in makers]
    plan_svg(invented_results.closed_ring())
    assert [make(results).svg for make in makers] == first
    assert keys.ramp_key_svg(0.9).svg == keys.ramp_key_svg(0.9).svg


def test_hostile_names_reach_no_markup():
    """A site whose names are markup, in every figure. Catches: a name that is put together with markup outside of the surface."""
    results = invented_results.yard()
    evil = "</svg><script>x</script>&<b a='\""  # the site file itself refuses signs that turn a line round
    toml = str(results.attrs["site_toml"])
    for name, new in (("Workshop", evil), ("Quay edge", "Q" + evil)):
        toml = toml.replace(name, new.replace('"', '\\"'))
    results.attrs["site_toml"] = toml
    results = results.assign_coords(
        section=("segment", [str(n).replace("Quay edge", "Q" + evil) for n in results["section"].values]),
        weather=[evil if str(n) == "warm dusk" else str(n) for n in results["weather"].values],
    )
    for make in (plan_svg, strip_svg, cause_svg):
        figure = make(results)
        assert {node.tag for node in svgread.tree(figure.svg).iter()} <= {"svg", "defs", "pattern", "path", "circle", "text", "g"}
        assert "<script" not in figure.svg and any("<script>" in text for text in svgread.words(figure.svg))


def test_labels_and_decoration():
    """Catches: a figure that nobody can read by ear, swatches that a reader has to listen to."""
    swatch = svgread.tree(keys.verdict_swatch_svg("weak", 0.9).svg)
    assert swatch.attrib["aria-hidden"] == "true" and "role" not in swatch.attrib
    key = svgread.tree(keys.ramp_key_svg(0.9).svg)
    assert key.attrib["role"] == "img" and "0.90 is required" in key.attrib["aria-label"]
    for verdict in ("weak", "undecided", "meets", "no data"):
        assert svgread.marks(keys.verdict_swatch_svg(verdict, 0.9).svg)
    for cause in style.CAUSES:
        assert svgread.marks(keys.cause_swatch_svg(cause).svg)
    assert svgread.marks(keys.verdict_key_svg(0.9).svg) and svgread.marks(keys.cause_key_svg().svg)


def noisy_fence():
    """1,000 segments, 20 classes, 12 cameras: Pd with a noise of 0.03, three times that of a finished run; causes at random, and
    in 50 segments no rule hears anybody."""
    classes = tuple((f"class {k}", 100 + k, 24.0 + 1.5 * k) for k in range(20))
    results = invented_results.large(classes=classes, segment_length=1.053)
    random = np.random.default_rng(3)
    pd = np.clip(results["pd"].values + random.normal(0.0, 0.03, results["pd"].shape), 0.001, 0.999)
    shift = pd - results["pd"].values
    for name in ("pd", "pd_low", "pd_high"):
        results[name][:] = np.clip(results[name].values + shift, 0.0, 1.0)
    low, high = results["pd_low"].values, results["pd_high"].values
    results["verdict"][:] = np.where(high < 0.9, "weak", np.where(low > 0.9, "meets", "undecided"))
    shares = random.gamma(0.7, 1.0, results["miss_share"].shape)
    shares[0, :, 50:] = 0.0
    results["miss_share"][:] = shares / shares.sum(axis=0) * (1.0 - pd)
    return results


def test_a_long_fence_in_many_classes_stays_small():
    """Catches: a path a cell, hatches line by line. Limits of the design for a report of 2 MB."""
    results = noisy_fence()
    assert (results.sizes["segment"], results.sizes["weather"], results.sizes["camera"]) == (1000, 20, 12)
    strip, causes, plan = strip_svg(results), cause_svg(results), plan_svg(results)
    assert len(strip.svg) <= 400_000
    assert len(causes.svg) <= 420_000
    assert len(plan.svg) <= 80_000 and len("".join(plan.cells + plan.rails)) <= 80_000
