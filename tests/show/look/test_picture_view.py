"""The camera's eye: pixels on paper are the camera's, on one scale, and the words below them are theirs."""

import io

import numpy as np
import pytest
import shapely
from matplotlib.collections import LineCollection
from matplotlib.colors import to_hex
from matplotlib.image import AxesImage
from PIL import Image

from fencecast.cautions import CAUTION
from fencecast.findings.viewwords import spread_text, view_titles
from fencecast.show.look.scene import Person, marks_of
from fencecast.show.look.view import plot_view
from fencecast.show.paper import style
from fencecast.show.paper.page import LARGEST_PNG_BYTES, save_picture
from fencecast.show.paper.pixels import crop_size, frame_scale, outline_segments, places_in_frame, window_of
from show import invented_looks
from show.overlap import off_page, overlapping, texts
from show.wording import wrong_words

EYES = invented_looks.eyes()
DEVICE_PIXELS_PER_MM = 200 / 25.4


def picture(name: str):
    frames, about_site = EYES[name]
    return plot_view(frames, invented_looks.invented_site(**about_site))


def images(figure) -> list[AxesImage]:
    """The whole frame, then the crops as they were drawn."""
    return figure.findobj(AxesImage)


def printed(figure) -> np.ndarray:
    """What the PNG holds, as red values (rows, columns)."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=200)
    return np.asarray(Image.open(buffer).convert("RGB"))[..., 0].astype(int)


@pytest.mark.parametrize("name", EYES)
def test_no_text_overlaps_or_leaves_the_page_and_the_words_are_allowed(name, tmp_path):
    """Catches: labels on each other, labels off the page, promises in words, a lost caution line, files too large to mail."""
    figure = picture(name)
    assert overlapping(figure) == []
    assert off_page(figure) == []
    assert wrong_words(texts(figure)) == []
    assert CAUTION in texts(figure)
    assert any("one look, medians, no crossings" in text for text in texts(figure))
    save_picture(figure, tmp_path / "eye.png")
    assert (tmp_path / "eye.png").stat().st_size <= LARGEST_PNG_BYTES


@pytest.mark.parametrize(("name", "scale"), [("three", 5), ("small sensor", 10), ("large sensor", 1)])
def test_each_camera_pixel_is_a_square_of_whole_device_pixels(name, scale):
    """In the PNG itself, away from boxes and labels. Catches: smoothing, a frame off the device's grid, a stretched frame."""
    figure = picture(name)
    red = printed(figure)
    left, right, bottom, top = (edge * DEVICE_PIXELS_PER_MM for edge in images(figure)[0].get_extent())
    rows, columns = EYES[name][0][0].contrast_k.shape
    assert (right - left, bottom - top) == pytest.approx((columns * scale, rows * scale))
    x, y = round(left), round(top)
    assert (x, y) == pytest.approx((left, top), abs=1e-6)
    corner = red[y + (rows - 15) * scale : y + (rows - 3) * scale, x + (columns - 30) * scale : x + (columns - 3) * scale]
    blocks = corner.reshape(12, scale, 27, scale)
    assert (blocks == blocks[:, :1, :, :1]).all()
    drawn = images(figure)[0].get_array()[
        (rows - 15) * scale : (rows - 3) * scale, (columns - 30) * scale : (columns - 3) * scale
    ]
    assert np.abs(blocks.reshape(12 * scale, 27 * scale) - 255 * np.asarray(drawn)).max() < 2  # table of 256 greys, then 8 bits
    assert len(np.unique(blocks)) > 5  # noise, not a flat field


def test_one_fixed_scale_from_minus_one_to_three_kelvin():
    """A pixel of 1 K is half grey whatever else is in the frame; beyond the ends it is clipped.

    Catches: a scale stretched to each frame, which makes fog look like a clear night.
    """
    for peak_k in (1.0, 8.0, -5.0):
        frame = invented_looks.frame(10, peak_k, peak_k, sigma_k=1e-9)
        crop = np.asarray(images(plot_view([frame], invented_looks.invented_site()))[1].get_array())
        expected = {1.0: (0.5, 0.25), 8.0: (1.0, 0.25), -5.0: (0.0, 0.25)}[peak_k]  # the torso and the ground of 0 K
        assert crop[crop.shape[0] // 2, crop.shape[1] // 2] == pytest.approx(expected[0], abs=0.01)
        assert crop[2, 2] == pytest.approx(expected[1], abs=0.01)


def test_the_noise_has_the_whole_sigma_and_the_sites_seed():
    """Catches: temporal noise drawn without clutter, noise that changes from run to run, the same noise for every seed."""
    frames, _ = EYES["best class asked"]
    first = np.asarray(images(plot_view(frames, invented_looks.invented_site()))[0].get_array())
    again = np.asarray(images(plot_view(frames, invented_looks.invented_site()))[0].get_array())
    assert np.array_equal(first, again)
    ground = 4.0 * first[:100:5, ::5] - 1.0  # above everyone's feet but those at the left
    empty = ground[:5]  # rows 0 to 24: nobody there
    # 160 independent pixels: the sample's sd is within 4 / sqrt(320) of sigma 0.09 K but once in 15,000 such tests.
    assert np.std(empty[:, :32]) == pytest.approx(0.09, rel=4 / np.sqrt(2 * empty.size))
    other = invented_looks.parse_site(invented_looks.invented_site().text.replace("seed = 11", "seed = 12"))
    assert not np.array_equal(first, np.asarray(images(plot_view(frames, other))[0].get_array()))


def test_a_crop_is_its_box_in_the_frame():
    """Same pixels, same noise. Catches: a crop of another place than the dashed box, noise drawn twice."""
    frames, _ = EYES["three"]
    drawn = images(picture("three"))
    asked = [frame for frame in frames if not frame.comparison]
    columns, rows, m = crop_size(frames, 5, 252)
    windows = [window_of(frame, columns, rows) for frame in asked]
    shifts = places_in_frame(asked, windows)
    whole = np.asarray(drawn[0].get_array())[::5, ::5]
    for i, window in enumerate(windows):
        crop = np.asarray(drawn[1 + i].get_array())[::m, ::m]
        left = window.left + shifts[i]
        assert np.allclose(crop, whole[window.top : window.top + rows, left : left + columns], atol=1e-12)


def test_crops_are_equal_and_hold_the_body():
    """Catches: crops of different magnification side by side, a body beside its crop."""
    for name in ("three", "four", "small sensor", "large sensor"):
        frames, about = EYES[name]
        shapes = {image.get_array().shape for image in images(picture(name))[1:]}
        assert len(shapes) == 1
        rows, columns = frames[0].contrast_k.shape
        wide, tall, m = crop_size(frames, frame_scale(rows, columns), 150)
        for frame in frames:
            inside = window_of(frame, wide, tall).of(np.abs(frame.contrast_k))
            assert inside.sum() == pytest.approx(np.abs(frame.contrast_k).sum())


@pytest.mark.parametrize(
    ("mask", "edges"),
    [
        ([[0, 0, 0, 0], [0, 1, 1, 0], [0, 1, 1, 0], [0, 0, 0, 0]], 8),
        ([[0, 0, 0], [0, 1, 0], [0, 0, 0]], 4),
        ([[1, 1, 0], [1, 1, 0], [0, 0, 0]], 4),  # in the frame's corner: the frame's border is no edge
        ([[1, 1], [1, 1]], 0),
        ([[1, 1, 1], [1, 0, 1], [1, 1, 1]], 4),  # a hole
        ([[0, 0], [0, 0]], 0),
    ],
)
def test_outlines_run_along_pixel_edges(mask, edges):
    """Counted by hand. Catches: an outline through pixel middles, a line along the frame's border where the body is cut."""
    assert len(outline_segments(np.array(mask, dtype=bool))) == edges


def test_an_outline_of_one_pixel_is_that_pixel():
    corners = outline_segments(np.array([[0, 0, 0], [0, 0, 1], [0, 0, 0]], dtype=bool))
    assert sorted(map(tuple, np.unique(corners.reshape(-1, 2), axis=0))) == [(2, 1), (2, 2), (3, 1), (3, 2)]


def test_outlines_are_drawn_round_what_passes_and_only_there():
    """'nothing left' has nobody over the threshold in fog: its outlines are those of the clear night alone.

    Catches: outlines of the body instead of the pixels over the threshold.
    """
    coloured = [
        c for c in picture("nothing left").findobj(LineCollection) if to_hex(c.get_color()[0]).upper() == style.EYE_OUTLINE
    ]
    assert len(coloured) == 2
    coloured = [c for c in picture("three").findobj(LineCollection) if to_hex(c.get_color()[0]).upper() == style.EYE_OUTLINE]
    assert len(coloured) == sum(frame.pixels_over > 0 for frame in EYES["three"][0]) == 5


def test_the_outline_is_seen_without_colour():
    """WCAG contrast of the outline on its white casing, at least 4.5 (their figure for small text). Catches: a pale outline."""
    channels = np.array([int(style.EYE_OUTLINE[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    assert 1.05 / (float(linear @ [0.2126, 0.7152, 0.0722]) + 0.05) > 4.5


def test_the_lines_under_a_crop_are_the_frames_numbers():
    """Catches: numbers under the wrong crop, a lost sign."""
    frames, _ = EYES["colder than the ground"]
    words = texts(picture("colder than the ground"))
    for frame in frames:
        u0, u1, v0, v1 = frame.rectangle_px
        assert f"{u1 - u0:.0f} × {v1 - v0:.0f} pixels" in words
        assert f"{frame.pixels_over} of {frame.pixels} pass" in words
        assert frame.peak_k < 0
        assert f"peak −{-frame.peak_k:.2f} K" in words


def test_what_is_cut_or_out_of_view_is_said():
    """Catches: a body cut by the frame or by the crop that looks whole."""
    assert "bottom out of frame" in texts(picture("small sensor"))
    assert "top out of frame" in texts(picture("near"))
    assert "larger than the crop" in texts(picture("larger than the crop"))
    words = texts(picture("near"))
    assert words.count("not in view") == 2
    assert "Not in view: 3 m." in " ".join(words)
    assert not any("out of frame" in text or "not in view" in text for text in texts(picture("three")))


def test_people_who_do_not_fit_side_by_side_are_named():
    """Four wide crops in 80 columns. Catches: boxes on each other, a person who vanishes without a word."""
    frames = invented_looks._in_fog([8, 10, 14, 20], columns=80, rows=60, focal_px=150.0, tilt_deg=25.0)
    asked = [frame for frame in frames if not frame.comparison]
    windows = [window_of(frame, 30, 27) for frame in asked]
    shifts = places_in_frame(asked, windows)
    assert sorted(shifts) == [2, 3]
    boxes = sorted((windows[i].left + shift, windows[i].left + shift + 30) for i, shift in shifts.items())
    assert boxes[0][0] >= 0
    assert boxes[0][1] <= boxes[1][0]
    assert boxes[1][1] <= 80


def white_lines(figure) -> list:
    """Line collections drawn in white over camera pixels: outlines, posts and hatches of what stands in the picture."""
    return [
        c for c in figure.findobj(LineCollection) if to_hex(c.get_color()[0]).upper() == style.PAPER and c.get_linewidth()[0] < 1
    ]


def test_what_stands_in_the_picture_is_drawn_and_named():
    """Catches: an empty frame where an obstacle hides the person; things without names; a hidden person without a reason."""
    figure = picture("in the way")
    words = texts(figure)
    together = " ".join(words)
    assert "Hatched: pallets, store. Posts: north fence. Thin line, no barrier: kerb. Dashed: horizon." in together
    assert "31.4 degrees below the picture: 2 m. Hidden by store: 20 m." in together
    assert "hidden by store" in words and together.count("52 % hidden by") == 1
    assert {"store", "north fence"} <= set(words)  # beside their shapes, where there is room
    assert white_lines(figure) and not white_lines(picture("three"))
    assert len(images(figure)) == 4  # the frame and three crops: of a person below the picture there is no crop


def test_a_nearer_obstacle_cuts_off_what_is_behind_it():
    """Shapes worked by hand: pallets 22 x 40 px, 30 rows of them before a store of 70 x 80 px. Catches: hatches drawn through
    each other; a line that shows through a building; a fence that hides like a wall."""
    marks = {mark.name: mark for mark in marks_of(invented_looks._shapes(), (0, 160, 0, 120), 4.0)}
    assert marks["pallets"].area.area == pytest.approx(22 * 40)
    assert marks["store"].area.area == pytest.approx(70 * 80 - 22 * 30)
    length = np.hypot(*(marks["kerb"].outline[:, 1] - marks["kerb"].outline[:, 0]).T).sum()
    assert length == pytest.approx(160 - 70)
    assert len(marks["pallets"].hatch) and not len(marks["north fence"].hatch)
    for mark in (marks["store"], marks["pallets"]):
        middle = mark.hatch.mean(axis=1)
        assert all(mark.area.buffer(1e-6).contains(shapely.Point(*point)) for point in middle)


def test_a_person_stands_before_what_does_not_hide_the_person():
    """Catches: the line of a quay through a person who stands before it; a fence in the way that is not drawn over the person."""
    person = Person((20.0, 30.0, 40.0, 80.0), ("north fence",))
    with_person = {mark.name: mark for mark in marks_of(invented_looks._shapes(), (0, 160, 0, 120), 4.0, (), person)}
    alone = {mark.name: mark for mark in marks_of(invented_looks._shapes(), (0, 160, 0, 120), 4.0)}

    def length(mark):
        return np.hypot(*(mark.outline[:, 1] - mark.outline[:, 0]).T).sum()

    assert length(alone["kerb"]) - length(with_person["kerb"]) == pytest.approx(10.0)
    assert length(alone["north fence"]) == pytest.approx(length(with_person["north fence"]))


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("three", "Advection fog: no pixel passes at 40 m, 16 in clear night; air transmission 0.17"),
        ("best class asked", "Clear night: 16 pixels pass at 40 m"),
        ("under the mast", "Advection fog: the person is not in view at 0.5 m and 6 m"),
    ],
)
def test_the_title_is_the_finding(name, title):
    """Catches: a title about another distance or another class, a title that counts pixels of a person out of view."""
    frames, _ = EYES[name]
    groups = [[frame for frame in frames if frame.comparison == beside] for beside in (False, True)]
    assert view_titles(*groups)[0] == title


def test_a_large_sensor_is_averaged_and_says_so():
    """1280 x 1024 at one device pixel each would leave the page. Catches: a frame over the table, pixels left out in silence."""
    figure = picture("larger sensor")
    assert images(figure)[0].get_array().shape == (512, 640)
    assert any("Each dot is the mean of 2 × 2 pixels." in text for text in texts(figure))


def test_one_to_four_distances():
    frames = [invented_looks.frame(distance, 2.0, 4.0) for distance in (10, 15, 20, 30, 40)]
    with pytest.raises(ValueError, match="1 to 4 distances, not 5"):
        plot_view(frames, invented_looks.invented_site())
    with pytest.raises(ValueError, match="1 to 4 distances, not 0"):
        plot_view([], invented_looks.invented_site())


def test_what_differs_by_distance_is_told_once_in_each_unit():
    """Catches: '0.051 K (0.091 °F) to 0.051 K (0.092 °F)', a span of nothing."""
    assert spread_text([0.0507, 0.0512], "si") == "0.051 K"
    assert spread_text([0.0507, 0.0512], "us") == "0.051 K (0.091 to 0.092 °F)"
    assert spread_text([0.59, 0.47], "us") == "0.47 to 0.59 K (0.85 to 1.1 °F)"
    assert spread_text([0.59, 0.47], "si") == "0.47 to 0.59 K"


def test_an_animal_is_called_by_its_name_with_its_legs_and_what_it_is_taken_for():
    """Catches: a person in the words of a roe deer's picture, warmth of the coat alone, a chance that no crop says."""
    said = " ".join(texts(picture("no person")))
    assert "would see of a roe deer with" in said and "legs 15.0 °C" in said and said.count("taken for a person 0.13") == 6
    assert "Three of them side by side" in said and "the person" not in said and "torso" not in said
