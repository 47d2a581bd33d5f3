"""How a report looks on paper: letters that can be read, rows and cards in one piece, bars with their ink."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest

import fencecast as fc
from fencecast.report.browser import print_page
from fencecast.report.options import ReportOptions
from fencecast.report.render import page_furniture, shortened
from fencecast.report.sections.head import Head
from show import invented_results
from show.wording import wrong_words

LEAST_POINTS = 7.0
TEMPLATES = Path(fc.__file__).parent / "report" / "templates"


@pytest.fixture(scope="module")
def pages():
    results = invented_results.yard(fresh=True)
    return {edition: fc.report(results, edition, site_file=False) for edition in ("full", "client")}


@pytest.mark.parametrize("edition", ["full", "client"])
def test_no_letter_is_too_small(edition, pages, page_of):
    """Catches: text under 7 pt on paper, in the page or inside a figure."""
    page = page_of(pages[edition], width=695)  # 184 mm between the margins of A4
    page.emulate_media(media="print")
    small = page.evaluate(
        """() => { const found = [];
            for (const e of document.querySelectorAll('body *')) {
                if (![...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())) continue;
                const style = getComputedStyle(e), box = e.getBoundingClientRect();
                if (!box.width || style.display === 'none' || style.visibility === 'hidden') continue;
                let size = parseFloat(style.fontSize);
                const svg = e.closest('svg');
                if (svg) size *= svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
                if (size * 0.75 < LEAST - 0.05 && style.clipPath === 'none')
                    found.push([size * 0.75, e.tagName, e.textContent.trim().slice(0, 40)]);
            } return found; }""".replace("LEAST", str(LEAST_POINTS))
    )
    inside = [each for each in small if each[1] == "text"]
    assert [each for each in small if each not in inside] == []
    # Letters of figures are those of the pictures (6.5 pt and up), which are scaled to their column.
    assert [each for each in inside if each[0] < 5.5] == []


DECISIONS = {"full": "Decisions asked of you", "client": "What the owner is deciding"}


@pytest.mark.parametrize("edition", ["full", "client"])
def test_page_one_says_what_matters(edition, pages, browser_path):
    from pypdf import PdfReader

    printed = print_page(pages[edition], browser_path, "2026-11-14T10:00:00Z")
    texts = [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(printed.content)).pages]
    for words in ("Requirement not met", "Planning aid: a prediction", f"{edition.upper()} EDITION", DECISIONS[edition]):
        assert words in texts[0], words
    assert len(texts) <= {"full": 12, "client": 4}[edition]
    assert not wrong_words(texts)


@pytest.mark.parametrize("edition", ["full", "client"])
def test_bars_keep_their_ink(edition, pages, page_of):
    """Catches: backgrounds and fills that a browser saves ink on."""
    page = page_of(pages[edition])
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.documentElement).printColorAdjust") == "exact"


@pytest.mark.parametrize("edition", ["full", "client"])
def test_rows_and_cards_stay_in_one_piece(edition, pages, page_of):
    page = page_of(pages[edition])
    page.emulate_media(media="print")
    split = page.evaluate(
        """() => [...document.querySelectorAll('tr, figure, .card, .figures, .sign, .words > div')]
            .filter(e => getComputedStyle(e).breakInside !== 'avoid').map(e => e.outerHTML.slice(0, 80))"""
    )
    assert split == []
    lonely = page.evaluate(
        "() => [...document.querySelectorAll('h2, h3, caption')].filter(e => getComputedStyle(e).breakAfter !== 'avoid').length"
    )
    assert lonely == 0


def test_the_page_rule_is_a4_and_print_comes_last():
    from fencecast.report.render import CLIENT_STYLES, STYLES

    assert STYLES[0] == CLIENT_STYLES[0] == "page.css" and STYLES[-1] == CLIENT_STYLES[-1] == "print.css"
    assert "@page{size:A4;" in (TEMPLATES / "print.css").read_text()


def test_no_style_sheet_asks_for_anything():
    """Catches: a font, a picture or another sheet from an address."""
    for path in sorted(TEMPLATES.glob("*.css")):
        assert not re.search(r"url\(|@import|@font-face|</", path.read_text()), path.name


def test_furniture_has_room_for_long_titles(browser_path):
    """Catches: a title of 200 letters that runs over the edition on every page."""
    from types import SimpleNamespace

    head = Head("T" * 200, "", "i" * 200, "as designed", "", "", "")
    text = page_furniture(SimpleNamespace(head=head, edition="full", verdict=SimpleNamespace(caution="c")))
    assert "T" * 72 not in text and "T" * 71 in text and "i" * 20 not in text
    assert shortened("abc", 3) == "abc" and shortened("abcd", 3) == "ab…"
    assert ReportOptions().issue == "1"


def test_every_file_of_the_page_is_in_the_package():
    """Catches: a template or style sheet that a wheel would leave behind."""
    import fnmatch
    import tomllib

    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text())
    patterns = project["tool"]["setuptools"]["package-data"]["fencecast"]
    files = [path.relative_to(TEMPLATES.parents[1]).as_posix() for path in TEMPLATES.rglob("*") if path.is_file()]
    assert len(files) > 10
    for file in files:
        # As setuptools reads them: a star stays within its folder.
        assert any(fnmatch.fnmatch(file, pattern) and file.count("/") == pattern.count("/") for pattern in patterns), file
