"""Every picture at every size, measured with the renderer: no two texts overlap, none leaves the page, files stay small.

This does not see text that a line or a bar covers: that was looked at.
"""

import io
import os
import re
import subprocess
import sys
from functools import lru_cache

import numpy as np
import pytest
from matplotlib.text import Text
from PIL import Image

from fencecast.cautions import CAUTION
from fencecast.show.fence.cause import plot_cause_strip
from fencecast.show.fence.plan import plot_plan
from fencecast.show.fence.strip import plot_fence_strip
from fencecast.show.fence.summary import plot_summary
from fencecast.show.paper import style
from fencecast.show.paper.page import LARGEST_PNG_BYTES, Page, save_picture
from fencecast.show.write import PICTURES, write_pictures
from show import invented_results
from show.overlap import overlaps

PLOTS = {"plan": plot_plan, "strip": plot_fence_strip, "cause": plot_cause_strip, "summary": plot_summary}


@lru_cache(maxsize=8)
def dataset(size):
    return invented_results.ALL[size]()


@pytest.mark.parametrize("size", invented_results.ALL)
@pytest.mark.parametrize("picture", PLOTS)
def test_no_two_texts_overlap_and_none_leaves_the_page(picture, size):
    assert overlaps(PLOTS[picture](dataset(size))) == []


def test_the_measure_finds_an_overlap_and_a_text_off_the_page():
    """Catches: a check that cannot fail."""
    page = Page()
    page.text(20, 20, "first")
    page.text(22, 20.5, "second")
    page.text(178, 40, "over the edge")
    page.set_height(60)
    assert overlaps(page.figure) == [("leaves the page", "over the edge"), ("first", "second")]


@pytest.mark.parametrize("picture", PLOTS)
@pytest.mark.parametrize("size", ["yard", "us_large", "twelve_classes", "requirement_0.99"])
def test_files_are_small_and_of_the_right_size_on_paper(picture, size, tmp_path):
    """Catches: a picture too heavy for a report, one that does not fit an A4 text column, or a lost resolution."""
    path = tmp_path / "picture.png"
    figure = PLOTS[picture](dataset(size))
    save_picture(figure, path)
    assert path.stat().st_size < 300_000
    with Image.open(path) as image:
        width = 210 if picture == "summary" else 180
        assert image.width == pytest.approx(width / 25.4 * 200, abs=1)
        assert image.height <= (297 if picture == "summary" else 290) / 25.4 * 200 + 1
        assert image.convert("RGB").getpixel((3, 3)) == (255, 255, 255)


def test_256_colours_keep_the_palette_exact():
    """Catches: a reduction that moves the palest step of the ramp to white, which the first one did."""
    page = Page()
    random = np.random.default_rng(3)
    for i in range(3000):  # enough colours and noise to be over the limit
        page.rect(4 + i % 60 * 2.8, 4 + i // 60 * 2.8, 2.7, 2.7, fill=f"#{random.integers(0, 2**24):06x}")
    for i, colour in enumerate(style.RAMP_WARM + style.RAMP_COOL):
        page.rect(4 + 20 * i, 160, 19, 19, fill=colour)
    page.set_height(190)
    raw = io.BytesIO()
    page.figure.savefig(raw, format="png", dpi=200)
    from fencecast.show.paper.page import _in_256_colours

    small = _in_256_colours(Image.open(io.BytesIO(raw.getvalue())).convert("RGB"))
    assert len(small.getcolors()) <= 256
    for i, colour in enumerate(style.RAMP_WARM + style.RAMP_COOL):
        at = int((4 + 20 * i + 9) / 25.4 * 200), int(169 / 25.4 * 200)
        assert small.convert("RGB").getpixel(at) == tuple(int(colour[j : j + 2], 16) for j in (1, 3, 5))
    assert LARGEST_PNG_BYTES <= 300_000


@pytest.mark.parametrize("picture", PLOTS)
def test_every_picture_carries_requirement_provenance_and_caution(picture):
    """Catches: a picture that cannot be read alone in a report, and the words that are never used."""
    results = dataset("yard")
    words = [text.get_text() for text in PLOTS[picture](results).findobj(Text)]
    page = " ".join(words)
    assert CAUTION in words
    assert any(w.endswith(f"95 % intervals · site file {results.attrs['site_sha256'][:8]}") for w in words)
    assert "seed 7" in page and "fencecast 0.1.0" in page and "Invented laydown yard" in page
    assert ("0.90" in words and "required" in page) or ("0.1" in words and "allowed" in words)
    lower = page.lower()
    for never in ("secure", " safe ", "detects", "covers", "guaranteed", "blind-free"):
        assert never not in lower


def test_pictures_need_no_screen_and_leave_no_shared_state(tmp_path):
    """Catches: pyplot's global list of figures, which a long-running program would fill. Asked of a fresh interpreter."""
    code = (
        "import sys\nfrom show import invented_results\n"
        "from fencecast.show.fence.summary import plot_summary\n"
        "from fencecast.show.paper.page import save_picture\n"
        "figure = plot_summary(invented_results.one_camera())\n"
        "save_picture(figure, sys.argv[1] + '/a.png'); save_picture(figure, sys.argv[1] + '/a.pdf')\n"
        "assert 'matplotlib.pyplot' not in sys.modules\n"
    )
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path), "MPLBACKEND": "agg"}
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF")


def test_all_pictures_are_written_and_alike_each_time(tmp_path):
    """Catches: a picture left out, a file not named in the answer, a date or a random draw inside a file."""
    names = [name for names, *_ in PICTURES for name in names]
    for folder in ("first", "second"):
        (tmp_path / folder).mkdir()
        assert write_pictures(dataset("one_camera"), tmp_path / folder) == names
        assert sorted(path.name for path in (tmp_path / folder).iterdir()) == sorted(names)
    for name in names:
        assert (tmp_path / "first" / name).read_bytes() == (tmp_path / "second" / name).read_bytes(), name


def test_names_of_all_pictures():
    assert [name for names, *_ in PICTURES for name in names] == [
        "plan.png", "fence-strip.png", "cause-strip.png", "distance.png", "summary.png", "summary.pdf",
    ]  # fmt: skip


def test_feet_stand_beside_metres_in_us_units():
    """Catches: a picture of a US site in metres alone, or one that lost its metres."""
    words = [text.get_text() for text in plot_fence_strip(dataset("us_units")).findobj(Text)]
    assert "feet" in words and "chainage, m" in words and "164" in words and "50" in words
    plan = " ".join(text.get_text() for text in plot_plan(dataset("us_units")).findobj(Text))
    assert "66 ft" in plan and "20 m" in plan


def test_the_worst_eight_of_twelve_classes_are_said_to_be_so():
    """Catches: classes that vanish from a picture without a word."""
    for picture in ("plan", "cause", "summary"):
        page = " ".join(text.get_text() for text in PLOTS[picture](dataset("twelve_classes")).findobj(Text))
        assert "worst 8 of" in page and "12 classes" in page, picture
    ten = dataset("twelve_classes").isel(weather=slice(0, 10))
    page = " ".join(text.get_text() for text in plot_summary(ten).findobj(Text))
    assert len(re.findall(r"the worst [68] of 10 classes", page)) == 2, "digits beside digits: not '8 of ten'"
    strip = [text.get_text() for text in plot_fence_strip(dataset("twelve_classes")).findobj(Text)]
    assert {"frost", "haze", "thunderstorm"} <= set(strip)
