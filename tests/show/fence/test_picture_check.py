"""The picture of the design review: its data, texts that do not overlap, black that is black in grey."""

import datetime

import numpy as np
import pytest

import fencecast as fc
from fencecast.show.fence.check import joined, plot_check
from fencecast.show.fence.checkdata import check_data
from review.yards import CONFIGS, A, B, base, box, camera, fence
from show.overlap import overlaps, texts

ACCEPT = [
    {"check": "hidden", "object": "obstacle stack", "reason": "moves out in March", "by": "A", "on": datetime.date(2026, 1, 1)}
]


def odd_site(**more):
    return base(
        cameras=[A | {"position_m": [0.0, 1.5]}, B | {"lens": "wide", "depression_deg": 6.0, "height_m": 2.5},
                 camera("C", [20.0, 12.0], 350.0)],
        obstacles=[box(10, 0.6, 20, 3, 3.0)],
        sections=[fence(), fence(((30, 0), (30, 14)), "side"), fence(((30, 18), (0, 18)), "back")],
        **more,
    )  # fmt: skip


SITES = {
    "demo": lambda: CONFIGS / "estuary-yard.toml",
    "line": lambda: CONFIGS / "gap-under-mast.toml",
    "depot": lambda: CONFIGS / "marsh-depot.toml",
    "good": base,
    "odd": odd_site,
    "accepted": lambda: odd_site(accept=ACCEPT),
    "us": lambda: odd_site(units="us"),
}


@pytest.mark.parametrize("name", SITES)
def test_no_two_texts_overlap_and_none_leaves_the_page(name):
    assert overlaps(plot_check(fc.check(SITES[name](), weather=False))) == []


@pytest.mark.parametrize("name", ["demo", "odd"])
def test_every_number_of_the_list_stands_on_the_plan(name):
    """Catches: a finding that leads nowhere. Findings of the whole site have no place."""
    found = fc.check(SITES[name](), weather=False)
    drawn = " ".join(texts(plot_check(found))).replace(",", " ").split()
    for finding in check_data(found).findings:
        if finding.spans or finding.camera:
            assert drawn.count(str(finding.number)) >= 2, finding


def test_the_data_are_the_review_s():
    """Catches: accepted stops that are listed, or that lose their mark; a stretch of another section."""
    found = fc.check(odd_site(accept=ACCEPT), weather=False)
    data = check_data(found)
    assert [f.id for f in data.findings] == [f.id for f in found.open if f.severity != "note"]
    assert "hidden" not in {f.id for f in data.findings}
    hidden = [m for m in data.marks if m.accepted]
    assert hidden and {m.severity for m in hidden} == {"stop"}
    spans = [(s.section, s.start_m, s.end_m) for f in found.findings for s in f.spans]
    assert [(m.section, m.start_m, m.end_m) for m in data.marks] == spans
    assert data.title.split(" stop")[0] in ("One", "Two", "Three", "Four", "Five", "Six")
    assert "1 accepted" in data.subtitle


def test_stops_are_black_in_grey():
    figure = plot_check(fc.check(CONFIGS / "gap-under-mast.toml", weather=False))
    figure.canvas.draw()
    grey = np.asarray(figure.canvas.buffer_rgba())[..., :3].mean(axis=2)
    # 19 of 64 m of a band 2 mm high: more black than all letters of the page in a row of that height.
    assert int((grey < 40).sum(axis=1).max()) > 19 / 64 * 80 / 25.4 * figure.dpi


def test_near_numbers_share_a_mark():
    up = np.array([0.0, 1.0])
    rows = [(1, np.array([0.0, 0.0]), up), (2, np.array([3.0, 0.0]), up), (3, np.array([9.0, 0.0]), up)]
    assert [text for text, *_ in joined(rows)] == ["1, 2", "3"]
