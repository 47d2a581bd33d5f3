"""The two surfaces: what is drawn once comes out the same as a picture and as SVG, and SVG holds under a strict policy.

The picture side is read from matplotlib's own objects, the SVG side by a reader of its own (`svgread`).
"""

import re

import numpy as np
import pytest
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.colors import to_hex
from matplotlib.patches import Circle, Patch
from shapely import LinearRing, LineString, Point, Polygon, unary_union

from fencecast.show.fence import cause, strip
from fencecast.show.fence.data import cause_strip_data, fence_strip_data, plan_data
from fencecast.show.fence.planlabels import letters
from fencecast.show.fence.planmarks import building_names, camera_labels
from fencecast.show.fence.planview import PlanView
from fencecast.show.fence.unrolled import Unrolled
from fencecast.show.paper import style, svgpath
from fencecast.show.paper.key import ramp_key, verdict_key
from fencecast.show.paper.page import Page
from fencecast.show.paper.surface import Fill
from fencecast.show.paper.svgpage import SvgPage
from fencecast.show.year.carpet import carpets
from fencecast.show.year.data import year_carpet_data
from show import invented_hours, invented_results, svgread
from show.overlap import text_boxes

HOSTILE = "</text></svg><script>alert(1)</script>\"'&amp; <b onload=x> ]]>\u202e\u2028\x07{{7*7}}"


def plan(page, results):
    data = plan_data(results)
    view = PlanView(page, data.fence, 4.0, 4.0, 84.0, 60.0)
    view.base()
    view.band_of(data.rows[0], style.fence7(data.fence.requirement))
    letters(view, weight="bold")
    camera_labels(view)
    building_names(view)
    page.set_height(view.height + 8.0)


def fence_strip(page, results):
    data = fence_strip_data(results)
    fence = Unrolled(page, data.fence, strip.LEFT, strip.RIGHT)
    y, _ = strip.strip_rows(fence, data, 1.0)
    y = fence.key_lines(strip.profile(fence, data, y + 4.5))
    ramp = style.fence7(data.fence.requirement)
    page.set_height(max(ramp_key(page, 4.0, y + 3.0, 70.0, ramp), verdict_key(page, 82.0, y + 3.0, ramp)) + 2.0)


def causes(page, results):
    data = cause_strip_data(results)
    fence = Unrolled(page, data.fence, cause.LEFT, cause.RIGHT)
    y, _, key = cause.cause_rows(fence, data, 1.0)
    page.set_height(cause.cause_key(page, fence.key_lines(y, key) + 3.0) + 2.0)


def carpet(page, results):
    data = year_carpet_data(results)
    page.set_height(carpets(page, data, data.weak, 4.0) + 2.0)


FIGURES = {"plan": plan, "strip": fence_strip, "causes": causes, "carpet": carpet}
CASES = [
    *((figure, size) for figure in ("plan", "strip", "causes") for size in ("yard", "part_without_data", "short_sections")),
    ("plan", "requirement_0.99"),
    ("strip", "us_units"),
    ("carpet", "hours"),
]


@pytest.fixture(scope="module", params=CASES, ids=lambda case: "-".join(case))
def both(request):
    """One drawing on both surfaces: the figure's name, the picture and the SVG."""
    name, size = request.param
    results = invented_hours.yard() if size == "hours" else invented_results.ALL[size]()
    picture, page = Page(), SvgPage(prefix="both")
    for surface in (picture, page):
        FIGURES[name](surface, results)
    return name, picture, page.svg("both")


def test_both_surfaces_have_the_same_texts_at_the_same_places(both):
    """Texts, anchors, sizes and colours; the height of a text from the picture's renderer. Catches: a text left out or moved, a
    baseline that forgets how a text is aligned upright."""
    _, picture, svg = both
    written = [mark for mark in svgread.marks(svg) if mark.kind == "text"]
    drawn = [t for t in picture.axes.texts if t.get_text().strip()]
    assert sorted(m.text for m in written) == sorted(t.get_text() for t in drawn)
    bottoms = {}
    for text, left, bottom, *_ in text_boxes(picture.figure):
        bottoms.setdefault(text, []).append((left, picture.height_mm - bottom))
    anchors = {"left": None, "center": "middle", "right": "end"}
    for text in drawn:
        x, size = text.get_position()[0], text.get_fontsize() * 25.4 / 72
        _, lowest = min(bottoms[text.get_text()], key=lambda box: _off(box, text, picture))
        fits = [
            m for m in written
            if m.text == text.get_text() and abs(m.corners[0][0] - x) <= 0.0101
            and abs(m.corners[0][1] + 0.24 * size - lowest) <= 0.15  # the font's line reaches 0.24 of its size below the baseline
            and m.attributes.get("text-anchor") == anchors[text.get_ha()]
            and abs(float(m.attributes["font-size"]) - size) <= 0.0101
            and m.attributes["fill"].lower() == to_hex(text.get_color())
            and (m.attributes.get("font-weight") == "700") == (text.get_fontweight() == "bold")
        ]  # fmt: skip
        assert fits, text
        written.remove(fits[0])


def _off(box, text, picture):
    extent = text.get_window_extent()
    scale = 25.4 / picture.figure.dpi
    return abs(box[0] - extent.x0 * scale) + abs(picture.height_mm - box[1] - extent.y0 * scale)


def test_both_surfaces_have_the_same_cells_and_rails(both):
    """Every filled shape of the picture, by its colour, is one subpath of the SVG with the same corners to 0.01 mm, and no other.
    Catches: a cell lost or moved, a rail that is missing. Stacks and carpets have tests of their own."""
    name, picture, svg = both
    own = {}
    for mark in svgread.marks(svg):
        fill = mark.attributes["fill"].lower()
        cells = "shape-rendering" in mark.attributes
        stacked = "stroke" in mark.attributes and any(fill == ink.lower() for ink, *_ in style.CAUSES.values())
        if mark.kind == "path" and fill.startswith("#") and not stacked and not (name == "carpet" and cells):
            own.setdefault(fill, []).append(mark.corners)
    drawn = picture_fills(picture, stacks=name != "causes")
    plates = sum(text.get_bbox_patch() is not None for text in picture.axes.texts)
    if plates:  # in a carpet: white under a text
        assert len(own.pop("#ffffff")) == plates and "#ffffff" not in drawn
    assert set(own) == set(drawn) and sum(map(len, drawn.values())) > 15
    for colour, polygons in drawn.items():
        assert svgread.unmatched(polygons, own[colour]) == ([], []), colour


def picture_fills(picture, stacks):
    """Filled polygons of the picture by colour; without `stacks`, not those of the collections that stack() makes."""
    fills = {}
    for artist in picture.axes.get_children():
        if artist is picture.axes.patch:
            continue
        if isinstance(artist, PolyCollection) and (stacks or artist.get_zorder() != 2):
            paths = artist.get_paths()
            for path, colour in zip(paths, np.resize(artist.get_facecolors(), (len(paths), 4))):
                fills.setdefault(to_hex(colour), []).append(svgread.straight(path.vertices[:-1]))
        elif isinstance(artist, Patch) and not isinstance(artist, Circle) and artist.get_facecolor()[3] > 0:
            corners = artist.get_patch_transform().transform(artist.get_path().vertices)
            fills.setdefault(to_hex(artist.get_facecolor()), []).append(svgread.straight(corners[:-1]))
    return fills


def test_both_surfaces_have_the_same_lines_and_dots(both):
    """Lines by colour, width and dashes, dots by place and size. Catches: dashes in points, an outline that is not closed."""
    name, picture, svg = both
    own = {}
    for mark in svgread.marks(svg):
        if mark.kind == "path" and mark.attributes["fill"] == "none" and mark.attributes.get("stroke-linecap") is None:
            a = mark.attributes
            look = (a["stroke"].lower(), float(a["stroke-width"]), a.get("stroke-dasharray", ""))
            own.setdefault(look, []).append(mark.corners)
    for artist in picture.axes.lines:
        if artist.get_linestyle() == "None" or (name == "causes" and artist.get_zorder() == 5):
            continue  # dots, and the lines of stacks, which the test of stacks has
        width = artist.get_linewidth() * 25.4 / 72
        dashes = " ".join(number(part * width) for part in artist._unscaled_dash_pattern[1] or ())
        colour = to_hex(artist.get_color())
        look = next((k for k in own if k[0] == colour and abs(k[1] - width) < 0.0051 and k[2] == dashes), None)
        assert look, (colour, width, dashes)
        points = np.column_stack(artist.get_data())
        for piece in pieces(points):
            line = LineString(piece)
            partner = next((c for c in own[look] if line.hausdorff_distance(LineString(c)) <= 0.0145), None)
            assert partner, (look, piece[:4])
            own[look].remove(partner)
    circles = [m for m in svgread.marks(svg) if m.kind == "circle"]
    drawn = [c for c in picture.axes.patches if isinstance(c, Circle)]
    assert len(circles) == len(drawn)
    for one, other in zip(circles, drawn):
        assert np.allclose(one.corners[0], other.get_center(), atol=0.0101)
        assert abs(float(one.attributes["r"]) - other.get_radius()) <= 0.0101


def pieces(points):
    """A polyline where NaN breaks it."""
    gaps = np.flatnonzero(np.isnan(points).any(axis=1))
    return [part for part in (p[~np.isnan(p).any(axis=1)] for p in np.split(points, gaps)) if len(part) > 1]


def number(mm):
    text = f"{np.floor(100 * mm + 0.5) / 100:.2f}".rstrip("0").rstrip(".")
    return text.removeprefix("0") or "0"


def test_hatched_runs_are_where_the_picture_has_hatch_lines(both):
    """Every hatch line of the picture lies in a hatched area of the SVG in its colour, and every such area has one; a
    carpet has neither. Catches:
    an undecided run that looks met, black hatching on dark steps, a pattern in another direction."""
    name, picture, svg = both
    lines = {}
    for artist in picture.axes.collections:
        if isinstance(artist, LineCollection) and abs(artist.get_linewidth()[0] - style.HATCH_POINTS) < 1e-9:
            for ends in artist.get_segments():
                lines.setdefault(to_hex(artist.get_color()[0]), []).append(ends)
    areas = {}
    for mark in svgread.marks(svg):
        found = re.fullmatch(r"url\(#both-(rising|falling|upright)-\d+-([0-9a-f]{6})(-[0-9a-f]{6})?\)", mark.attributes["fill"])
        if found:
            areas.setdefault(f"#{found[2]}", []).append((mark.corners, found[1]))
    assert set(areas) == set(lines)
    for colour, segments in lines.items():
        shapes = [(Polygon(corners).buffer(0.02), direction) for corners, direction in areas[colour]]
        used = set()
        for (x0, y0), (x1, y1) in segments:
            middle = Point(0.5 * (x0 + x1), 0.5 * (y0 + y1))
            inside = [k for k, (shape, _) in enumerate(shapes) if shape.contains(middle)]
            assert inside, (colour, middle.coords[0])
            slope = "upright" if abs(x1 - x0) < 1e-6 else "falling" if (y1 - y0) / (x1 - x0) > 0 else "rising"
            assert {shapes[k][1] for k in inside} == {slope}
            used |= set(inside)
        if name != "causes":  # there a hatched outline also lies under what is painted over it
            unused = [shape for k, (shape, _) in enumerate(shapes) if k not in used]
            assert all(shape.area < 3.0 for shape in unused)  # a single metre may lie between two lines


def test_a_pattern_has_the_phase_of_the_pictures_hatch():
    """The line of a tile, moved and turned as the tile is, against the levels of the picture's own lines. Catches: hatches that
    do not join where a picture's do."""
    for direction, spacing in (("rising", 1.0), ("falling", 1.0), ("upright", 0.7)):
        page = SvgPage(prefix="p")
        page.hatch([(0, 0), (9, 0), (9, 9), (0, 9)], style.INK, direction, spacing)
        pattern = next(node for node in svgread.tree(page.svg()).iter() if node.tag == "pattern")
        moved = pattern.attrib["patternTransform"]
        turn = float((re.search(r"rotate\((-?\d+)\)", moved) or [0, 0])[1]) * np.pi / 180
        shift = float(re.search(r"translate\((-?[\d.]+)\)", moved)[1])
        middle = shift + svgread.subpaths(pattern[0].attrib["d"])[0][0][0]
        lines = style.hatch_segments([(0, 0), (9, 0), (9, 9), (0, 9)], spacing, direction)
        across = np.array([np.cos(turn), np.sin(turn)])
        levels = lines.mean(axis=1) @ across
        assert np.allclose((levels - middle) / spacing, np.round((levels - middle) / spacing), atol=0.011)
        assert np.allclose((lines[:, 1] - lines[:, 0]) @ across, 0.0, atol=1e-9)


def test_stacks_show_in_every_cell_the_cause_that_the_picture_shows():
    """In the middle of every cell of the picture the topmost outline of the SVG has its colour, above the stack there is none.
    Catches: an order of painting that hides a cause, an outline over a gap without data."""
    random = np.random.default_rng(3)
    edges = [(float(k), k + 1.0) for k in range(9)] + [(float(k), k + 1.0) for k in range(11, 20)]
    slices = random.uniform(0.0, 2.0, (5, len(edges))) * (random.uniform(size=(5, len(edges))) > 0.3)
    tops = 30.0 - np.cumsum(slices, axis=0)
    fills = [Fill(*style.CAUSES[name]) for name in style.CAUSES]
    picture, page = Page(), SvgPage(prefix="s")
    for surface in (picture, page):
        surface.stack(edges, tops, 30.0, fills)
    painted = [(Polygon(m.corners), m.attributes["fill"].lower()) for m in svgread.marks(page.svg())]
    cells = next(c for c in picture.axes.collections if isinstance(c, PolyCollection))
    for path, colour in zip(cells.get_paths(), cells.get_facecolors()):
        middle = Point(path.vertices[:-1].mean(axis=0))
        shown = [ink for shape, ink in painted if shape.contains(middle)][-1]
        assert shown == to_hex(colour) or shown.endswith(f"-{to_hex(colour)[1:]})")
    for (u, v), top in zip([*edges, (9.0, 11.0)], [*tops[-1], 30.0]):
        above = Point(0.5 * (u + v), top - 0.05)
        assert not [ink for shape, ink in painted if shape.contains(above)]
    edge_of_paint = unary_union([shape.boundary for shape, _ in painted]).buffer(0.015)
    assert len(picture.axes.lines) == 10 and all(
        edge_of_paint.covers(LineString(line.get_xydata())) for line in picture.axes.lines
    )


def test_a_carpet_has_one_path_a_colour_with_the_cells_of_the_picture():
    """The colour of the middle of each cell, from the picture's image and from the SVG. Catches: nights and hours swapped."""
    steps = np.random.default_rng(5).integers(-1, 3, (24, 11))
    colours = ["#9F4415", "#E9972F", "#CDE2F1", "#FFFFFF"]
    picture, page = Page(), SvgPage(prefix="c")
    for surface in (picture, page):
        surface.cells(12.7, 25.4, steps, colours, (3, 20))
    image = picture.axes.images[0]
    left, right, low, top = image.get_extent()
    shapes = svgread.marks(page.svg())
    assert len(svgread.elements(page.svg())) == len(colours)
    for row in range(24):
        for column in range(11):
            x, y = left + (column + 0.5) * (right - left) / 11, top + (row + 0.5) * (low - top) / 24
            drawn = to_hex(image.get_array()[20 * row + 10, 3 * column + 1])
            found = [m.attributes["fill"].lower() for m in shapes if Polygon(m.corners).contains(Point(x, y))]
            assert found == [drawn]


# --- what a page with a strict policy asks -----------------------------------------------------------------------------


def test_texts_of_users_stay_texts():
    """Hostile names in every text that reaches a surface. Catches: markup from a name, a sign that breaks the reader."""
    page = SvgPage(prefix="x")
    page.text(1, 5, HOSTILE)
    page.text(1, 9, HOSTILE, plate=True, ha="right")
    svg = page.svg(HOSTILE, HOSTILE, css_class=HOSTILE)
    root = svgread.tree(svg)
    assert [node.tag for node in root.iter()] == ["svg", "desc", "text", "path", "text"]
    shown = HOSTILE.replace("\x07", "\ufffd")
    assert root.attrib["aria-label"] == shown and [t.text for t in root.iter("text")] == [shown] * 2


@pytest.mark.parametrize("prefix", ["", "A", "x y", '"', "1a", "x#"])
def test_a_prefix_of_ids_is_plain(prefix):
    """Catches: an id that a caller's text could break out of."""
    with pytest.raises(ValueError, match="prefix"):
        SvgPage(prefix=prefix)


def test_svg_has_presentation_attributes_alone(both):
    """Names of elements and attributes against lists typed here. Catches: a style, a handler, a reference outwards, an id
    without its prefix."""
    _, _, svg = both
    root = svgread.tree(svg)
    allowed = {
        "class", "viewBox", "role", "aria-label", "font-family", "preserveAspectRatio", "d", "fill", "stroke", "stroke-width",
        "stroke-dasharray", "stroke-linejoin", "stroke-linecap", "shape-rendering", "opacity", "cx", "cy", "r", "x", "y",
        "font-size", "text-anchor", "font-weight", "id", "width", "height", "patternUnits", "patternTransform",
        "{http://www.w3.org/XML/1998/namespace}space",
    }  # fmt: skip
    names = {name for node in root.iter() for name in node.attrib}
    assert names <= allowed
    assert {node.tag for node in root.iter()} <= {"svg", "defs", "pattern", "path", "circle", "text", "desc"}
    assert all(node.attrib["id"].startswith("both-") for node in root.iter() if "id" in node.attrib)
    assert "http" not in svg and "data:" not in svg
    used = set(re.findall(r"url\(#([^)]+)\)", svg))
    assert used == {node.attrib["id"] for node in root.iter("pattern")}


def test_later_and_higher_marks_lie_above():
    """Catches: marks in the order of drawing alone, or sorted so that equal ones change places."""
    page = SvgPage(prefix="z")
    for colour, zorder in (("#000001", 5), ("#000002", 2), ("#000003", 5), ("#000004", 2)):
        page.rect(0, 0, 1, 1, fill=colour, zorder=zorder)
    assert [m.attributes["fill"] for m in svgread.marks(page.svg())] == ["#000002", "#000004", "#000001", "#000003"]


def test_overlapping_polygons_of_one_colour_make_no_hole():
    """Two squares of opposite directions. Catches: one path in which they cancel each other."""
    page = SvgPage(prefix="h")
    page.polygons([[(0, 0), (4, 0), (4, 4), (0, 4)], [(2, 2), (2, 6), (6, 6), (6, 2)]], ["#000000"] * 2)
    turns = [LinearRing(m.corners).is_ccw for m in svgread.marks(page.svg())]
    assert turns[0] == turns[1]


@pytest.mark.parametrize(("mm", "text"), [(0.004, "0"), (-0.004, "0"), (0.18, ".18"), (-0.5, "-.5"), (7.0, "7"), (12.30, "12.3")])
def test_coordinates_are_short(mm, text):
    """Catches: zeros in front and behind, `-0`."""
    assert svgpath.number(mm) == text


def test_errors_of_rounding_do_not_add_up():
    """A thousand steps of a third of a hundredth end where they should. Catches: relative steps that are rounded one by one."""
    x = np.linspace(0.0, 3.3333, 1001)
    y = np.where(np.arange(1001) % 2, 0.004, 1.0)
    (corners,) = svgread.subpaths(svgpath.path_data(svgpath.subpaths(np.column_stack([x, y]), False)))
    assert abs(corners[-1][0] - 3.33) < 1e-6
