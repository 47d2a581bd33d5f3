"""The checker of overlapping texts sees what it is for: the other picture tests lean on it."""

from fencecast.show.paper.page import Page
from show.overlap import off_page, overlapping


def test_sees_two_texts_on_each_other_and_none_beside_each_other():
    """Catches: a checker that never finds anything."""
    page = Page()
    page.text(20, 20, "weak 142 m")
    page.text(60, 20, "meets 186 m")
    page.text(20, 24, "on the next line")
    assert overlapping(page.figure) == []
    page.text(30, 20.5, "undecided")
    assert overlapping(page.figure) == [("weak 142 m", "undecided")]


def test_sees_a_text_that_leaves_the_page():
    page = Page()
    page.text(20, 20, "inside")
    assert off_page(page.figure) == []
    page.text(175, 30, "past the right edge")
    page.text(20, 99.8, "gypsum below the page")
    assert off_page(page.figure) == ["past the right edge", "gypsum below the page"]
