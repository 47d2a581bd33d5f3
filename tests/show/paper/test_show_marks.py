"""Short forms of marks, and signs that the pictures' font does not have."""

import re
import warnings

import pytest

from fencecast.cli import ending
from fencecast.show.fence.plan import plot_plan
from fencecast.show.fence.summary import plot_summary
from fencecast.show.paper import fonts
from fencecast.show.paper.labels import short_marks
from fencecast.show.paper.page import Page, save_picture
from show import invented_results as invented

NOWHERE = "\U0001f9ff"  # an amulet: no text font has it


@pytest.mark.parametrize(
    ("marks", "shown", "key"),
    [
        (("C1", "C2"), ["C1", "C2"], ""),
        (("Mast Überwachung W0001", "C2"), ["Mast", "C2"], "Cameras: Mast = Mast Überwachung W0001"),
        (
            ("Mast Überwachung W0001", "Mast Überwachung W0002"),
            ["c1", "c2"],
            "Cameras: c1 = Mast Überwachung W0001 · c2 = Mast Überwachung W0002",
        ),
        (("C2", "gatehouse-north"), ["C2", "cc2"], "Cameras: cc2 = gatehouse-north"),
        (("1 north gatehouse", "B north gatehouse"), ["c1", "c2"], "Cameras: c1 = 1 north gatehouse · c2 = B north gatehouse"),
        (("Mast", "Mast Überwachung W0001"), ["Mast", "c2"], "Cameras: c2 = Mast Überwachung W0001"),
    ],
)
def test_short_marks_stay_apart_and_are_explained(marks, shown, key):
    """Catches: a bare number that reads as a place, a letter that reads as a section, two marks alike, one cut without a key."""
    assert short_marks(marks) == (dict(zip(marks, shown)), key)


def test_a_number_on_a_plan_is_a_place():
    """Catches: the key of a camera or an obstacle that could be taken for a place's number."""
    for results in (invented.large(), invented.yard()):
        texts = [text.get_text() for text in plot_summary(results).axes[0].texts + plot_plan(results).axes[0].texts]
        keys = [text for text in texts if text.startswith(("Cameras: ", "Obstacles: "))]
        assert keys or results.attrs["title"] != invented.large().attrs["title"]
        assert not any(re.search(r"(?:: |· )\d+ = ", key) for key in keys), keys


def test_a_sign_without_a_font_is_told_once_and_not_by_matplotlib(tmp_path, capsys):
    """Catches: sixty lines of matplotlib's own warnings, a sign told once for every picture, a box that nobody explains."""
    fonts.without_font.clear()
    page = Page()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        page.heading(f"Gate {NOWHERE}", "Ä ° · × − all there")
        page.text(20, 40, f"{NOWHERE} and {NOWHERE}", weight="bold")
        for name in ("a.png", "b.pdf"):
            save_picture(page.figure, tmp_path / name)
    assert list(fonts.without_font) == [NOWHERE]
    ending.tell_signs_without_font()
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith(f"Warning: The font has no sign for {NOWHERE}: it is drawn as an empty box")
    ending.tell_signs_without_font()
    assert capsys.readouterr().err == ""


def test_another_font_stands_in(monkeypatch):
    """Catches: an empty box although an installed font has the sign. Matplotlib's own serif and sans stand for two such fonts."""
    sign = "東"
    real, path = fonts._signs, fonts.font_manager.findfont("DejaVu Serif")
    monkeypatch.setattr(fonts, "_signs", lambda file: real(file) | {ord(sign)} if file == path else real(file))
    fonts._stand_in.cache_clear()
    fonts.without_font.clear()
    assert fonts.families(f"gate {sign}") == ["DejaVu Sans", "DejaVu Serif"] and not fonts.without_font
    fonts._stand_in.cache_clear()
    assert fonts.families("plain Ä") == ["DejaVu Sans"]
