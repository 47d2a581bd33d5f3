"""Aim sheets as pictures: nothing overlaps or leaves the page, what is drawn is the data, the same site gives the same bytes."""

import math
import re

import numpy as np
import pytest

import fencecast as fc
from fencecast.camera import camera_geometry
from fencecast.cautions import CAUTION
from fencecast.prove.aimcost import ERRORS_DEG, WAYS, Cost, Fall
from fencecast.review.optics import hiders_of
from fencecast.show.aim.framedata import frame_data
from fencecast.show.aim.plandata import plan_data
from fencecast.show.paper.page import save_picture
from prove.aimyards import camera, hostile, ring, yard
from show.overlap import overlaps, texts
from show.wording import wrong_words

DEMO = "configs/estuary-yard.toml"
COST = Cost("advection fog", tuple(Fall(way, error, -0.38, 0, 46.0, 47.0) for way in WAYS for error in ERRORS_DEG))


@pytest.fixture(scope="module")
def demo(request):
    return fc.aim(fc.load_site(request.config.rootpath / DEMO))


def with_cost(sheets):
    from dataclasses import replace

    return replace(sheets, cameras=tuple(replace(each, cost=COST) for each in sheets.cameras))


def yards():
    """Sheets that a page could break on, by name."""
    rings = [
        camera("R1", position_m=[1.0, 1.0], aim_m=[1.5, 18.0]),
        camera("R3", position_m=[21.0, 15.0], bearing_deg=0.0, depression_deg=90.0, height_m=6.0, lens="tiny"),
    ]
    return {
        "hostile": fc.aim(hostile(), marks=8, reader="N" * 60, issue="I" * 60),
        "hostile, cost": with_cost(fc.aim(hostile(), marks=6)),
        "ring": fc.aim(ring(rings)),
        "plain": fc.aim(yard([camera()])),
    }


def test_no_text_lies_on_another(demo):
    """Three of the demo and all of sites that are as bad as the file allows; also that every sheet is A4."""
    for name, sheets in {"demo": with_cost(demo), **yards()}.items():
        for each in sheets.cameras[:: 3 if name == "demo" else 1]:  # T1, T4, T7: both lenses, an end, a bend
            figure = fc.plot_aim(sheets, each.mount.mark)
            assert not overlaps(figure), (name, each.mount.mark)
            np.testing.assert_allclose(figure.get_size_inches() * 25.4, (210.0, 297.0))


def test_a_sheet_says_what_its_data_says(demo):
    """Every word of the twin is on the page, in one line or wrapped. Catches: a number past the data, a row left out."""
    sheets = with_cost(demo)
    for mark in ("T1", "T7"):
        data, drawn = fc.aim_data(sheets, mark), texts(fc.plot_aim(sheets, mark))
        flat = " ".join(drawn)
        for row in data.mount:
            assert row.label in drawn and all(word in flat for word in row.text.split())
        for row in data.marks:
            assert {row.place, row.column, row.row, row.share, *row.below} <= set(drawn)
            assert all(f"{name}{which}: {length}" in drawn for name, which, length in row.tapes)
        for text in (*data.how, *data.keep_clear, data.told, data.cost.note, data.frame_words, data.caution):
            assert all(word in flat for word in text.split()), text
        assert {data.bar, data.title, data.site_title, data.issue} <= set(drawn)
        assert [text for text in drawn if "−0.38 at A 47 m" in text] == ["−0.38 at A 47 m"] * 8


def test_the_caution_and_no_promise_and_no_probability(demo):
    """An installer's copy names no level of Pd and no weak place; the cost names changes alone."""
    for sheets in (demo, with_cost(demo), *yards().values()):
        for each in sheets.cameras:
            drawn = texts(fc.plot_aim(sheets, each.mount.mark))
            assert not wrong_words(drawn) and CAUTION in " ".join(drawn)
            for text in drawn:
                assert not re.search(r"\bweak(?!est)|undecided|\bmeets (0|the requirement)", text), text
                assert not re.search(r"(?<![−\d.])0\.\d\d (to|\()", text) and "0.90" not in text, text


def test_marks_are_drawn_where_they_are_told(demo):
    """The crosses on the page: from pixels by the ticks' own scale."""
    for mark in ("T1", "T7"):
        data, figure = fc.aim_data(demo, mark), fc.plot_aim(demo, mark)
        page = figure.axes[0]
        lines = [np.column_stack(line.get_data()) for line in page.lines if len(line.get_xdata()) == 2]
        scale = 115.0 / data.frame.columns  # the width of the picture on paper, 4 to 3
        boxes = [patch for patch in page.patches if hasattr(patch, "get_height")]
        frame = next(box for box in boxes if abs(box.get_height() - scale * data.frame.rows) < 1e-6)
        left, top = frame.get_xy()
        for each in data.frame.marks:
            at = np.array([left + scale * each.column, top + scale * each.row])
            assert any(np.allclose(line.mean(axis=0), at, atol=1e-6) and np.ptp(line[:, 1]) == 0.0 for line in lines), each.number


def test_lines_of_the_picture_are_the_camera_s_own(demo):
    """Every point drawn goes back through the camera to the ground, the top of a fence or the horizon that it stands for."""
    for mark, each in zip(("T4", "T7"), (demo.of("T4"), demo.of("T7"))):
        site = demo.site
        geometry = camera_geometry(site, next(c for c in site.camera if c.mark == mark))
        frame = frame_data(site, each)

        def ground(point, height=0.0, geometry=geometry):
            return geometry.ground_point(point[0] - 0.5 * geometry.columns, point[1] - 0.5 * geometry.rows, height)

        for ring_ in frame.rings:
            for line in ring_.lines:
                for point in line[::7]:  # the ring is drawn in straight pieces of half a degree
                    assert geometry.distance_m(*ground(point)) == pytest.approx(ring_.distance_m, rel=2e-4)
        for fence in frame.fences:
            section = next(s for s in site.perimeter if s.name == fence.name)
            corners = np.array(section.points_m)
            for lines, height in ((fence.foot, 0.0), (fence.top, section.barrier_height_m)):
                for point in np.vstack(lines)[::5] if lines else ():
                    x, y = ground(point, height)
                    assert distance_to(corners, x, y) < 0.01 + 2e-4 * geometry.distance_m(x, y) ** 2, (fence.name, point)
        for line in frame.horizon:
            assert np.ptp(line[:, 1]) < 1e-3 and line[0, 1] == pytest.approx(each.mount.horizon_row, abs=1e-3)
    assert not frame_data(demo.site, demo.of("T1")).horizon and frame_data(demo.site, demo.of("T7")).horizon


def distance_to(corners, x, y):
    """From a point to a polyline, by hand."""
    best = math.inf
    for a, b in zip(corners[:-1], corners[1:]):
        t = np.clip(np.dot([x - a[0], y - a[1]], b - a) / np.dot(b - a, b - a), 0.0, 1.0)
        best = min(best, math.hypot(*(np.array([x, y]) - a - t * (b - a))))
    return best


def test_a_building_hides_the_fence_behind_it(demo):
    """T7 looks past the office at the north fence: without the office more of it is drawn."""
    site = demo.site
    free = site.replace(obstacle=())
    lengths = []
    for each in (site, free):
        frame = frame_data(each, fc.aim(each, cameras=["T7"]).cameras[0])
        lines = [line for fence in frame.fences if fence.name == "north fence" for line in fence.foot]
        lengths.append(sum(np.hypot(*np.diff(line, axis=0).T).sum() for line in lines))
    assert 0.0 < lengths[0] < 0.8 * lengths[1]
    assert len(hiders_of(free).prisms) == 0


def test_the_ground_to_keep_clear_holds_mast_and_marks(demo):
    """Catches: a hull without the mast, or one that reaches behind the camera."""
    import shapely

    for each in demo.cameras:
        plan = plan_data(demo.site, each)
        hull = shapely.Polygon(plan.clear).buffer(1e-6)
        assert hull.covers(shapely.Point(plan.x_m, plan.y_m))
        assert all(hull.covers(shapely.Point(x, y)) for _, x, y in plan.marks)
        geometry = camera_geometry(demo.site, next(c for c in demo.site.camera if c.mark == plan.mark))
        for x, y in plan.clear:
            if geometry.distance_m(x, y) > 0.01:
                assert geometry.off_axis_rad(x, y) <= 0.5 * geometry.horizontal_field_rad + 0.05
    away = fc.aim(yard([camera(position_m=[10.0, -3.0], bearing_deg=180.0, depression_deg=20.0)]))
    assert plan_data(away.site, away.cameras[0]).clear is None


def test_the_same_site_gives_the_same_bytes(demo, tmp_path):
    """Catches: a date, a random name of an object in the PDF."""
    for end in ("png", "pdf"):
        for name in ("one", "other"):
            save_picture(fc.plot_aim(demo, "T7"), tmp_path / f"{name}.{end}")
        assert (tmp_path / f"one.{end}").read_bytes() == (tmp_path / f"other.{end}").read_bytes()
    assert b"CreationDate" not in (tmp_path / "one.pdf").read_bytes()
    assert len((tmp_path / "one.png").read_bytes()) <= 300_000
