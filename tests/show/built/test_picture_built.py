"""The picture of a site as built: what it draws is what was read, its texts lie apart, its title is made from the numbers."""

import matplotlib.text
import numpy as np
import pytest

import fencecast as fc
from fencecast.camera import camera_geometry
from fencecast.findings.builtwords import headline
from fencecast.show.built.data import ELLIPSE_95, built_data
from fencecast.show.built.picture import plot_built
from prove.built.builtyards import YARD4, YARD6, rows_of, site, written
from show.overlap import overlapping, text_boxes

TURNED = (1.2, -0.8, 2.5)


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """K1 turned, K2 with a misread mark, K3 as designed."""
    rows = [*rows_of("K1", TURNED, across_ahead=YARD6), *rows_of("K2", shift={2: (0.0, 14.0)}), *rows_of("K3")]
    return fc.built(site("K1", "K2", "K3"), written(tmp_path_factory.mktemp("marks"), *rows))


def words(figure) -> str:
    return "\n".join(text.get_text() for text in figure.findobj(matplotlib.text.Text))


def test_data_are_the_readings(found):
    """Catches: expected and read exchanged, rows for columns, an ellipse of the wrong size."""
    data = built_data(found)
    assert [frame.mark for frame in data.frames] == ["K1", "K2", "K3"] and [frame.fits for frame in data.frames] == [
        True,
        False,
        True,
    ]
    first = data.frames[0].marks
    assert [mark.read for mark in first] == [tuple(row) for row in found.of("K1").marks.read.tolist()]
    geometry = camera_geometry(found.design, found.design.camera[0])  # the kernel's projection, not the solver's
    place = found.of("K1").marks.place
    expected = np.array([geometry.position_px(*each) for each in place]) + (80.0, 60.0)
    assert np.array([mark.expected for mark in first]) == pytest.approx(expected, abs=1e-9)
    assert all(np.hypot(mark.fitted[0] - mark.read[0], mark.fitted[1] - mark.read[1]) < 0.5 for mark in first)
    sd = np.sqrt([np.linalg.eigvalsh(mark.covariance) for mark in first])
    assert (sd > 1.0).all() and (sd < 3.0).all() and pytest.approx(2.4477, abs=1e-4) == ELLIPSE_95
    assert [mark.named for mark in data.frames[1].marks] == [False, False, True, False]
    assert data.wedges[1].after is None and data.wedges[0].after is not None
    turned = data.wedges[0].after[13] - data.wedges[0].after[0]
    assert np.degrees(np.arctan2(*turned)) == pytest.approx(36.2, abs=0.1)


def test_the_title_is_made_from_the_numbers(found):
    data = built_data(found)
    assert data.title == headline(found)
    assert data.title.startswith("K2 fits no pose: mark 3 misread; K1 ")
    calm = fc.AsBuilt(found.design, found.site, found.cameras[2:], (), (), found.marks_sha256)
    assert built_data(calm).title == "K3 as designed, as far as the marks tell"


def test_texts_lie_apart_and_on_the_page(found):
    """Catches: numbers of marks on each other, words under a picture's edge."""
    figure = plot_built(found)
    assert overlapping(figure) == []
    wide, high = (25.4 * inches for inches in figure.get_size_inches())
    assert wide == pytest.approx(180.0) and all(
        left > 2.0 and bottom > 0.5 and right < wide - 2.0 and top < high for _, left, bottom, right, top in text_boxes(figure)
    )
    said = words(figure)
    in_the_key = ("as designed", "as built", "mark as read", "mark that does not fit")
    for text in (*in_the_key, "fits no pose: mark 3 misread", "160 × 120 pixels"):
        assert text in said
    assert "Planning aid" in said and "bearing +1.2°" in said


def test_seven_cameras_fit_one_page(tmp_path):
    """Catches: columns that run off the page. Seven cameras of one mast, three of them read twice as many marks."""
    import prove.built.builtyards as yards

    more = {f"K{k}": 51.0 * k for k in range(4, 8)}
    kept = dict(yards.AIMS)
    yards.AIMS.update(more)
    try:
        marks = [*kept, *more]
        rows = [row for mark in marks for row in rows_of(mark, TURNED, across_ahead=YARD4)]
        found = fc.built(site(*marks), written(tmp_path, *rows))
    finally:
        for mark in more:
            del yards.AIMS[mark]
    figure = plot_built(found)
    assert overlapping(figure) == [] and 25.4 * figure.get_size_inches()[1] < 297.0
