"""Both editions for people who use a keyboard, a screen reader, a narrow window or no script; axe-core judges from outside."""

from __future__ import annotations

import invented_proof
import pytest
from page_checks import sideways

import fencecast as fc
from show import invented_comparisons, invented_results

EDITIONS = ("full", "client")


@pytest.fixture(scope="module")
def pages():
    """Both editions of the invented yard, with a comparison."""
    results = invented_results.yard(fresh=True)
    compared = invented_comparisons.comparison(results)
    compared.attrs |= {"site_sha256": results.attrs["site_sha256"]}
    compared["pd_difference_p_holm"] = compared["pd_difference"] * 0.0 + 0.01
    return {edition: fc.report(results, edition, compared, made_for="A. Reader", made_by="B. Writer") for edition in EDITIONS}


def violations(page) -> list[str]:
    """What axe-core finds on an open page: rule and the first element."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page).response["violations"]
    return [f"{each['id']}: {each['nodes'][0]['html'][:200]} ({len(each['nodes'])})" for each in found]


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("edition", EDITIONS)
def test_axe_finds_nothing(edition, width, pages, page_of):
    page = page_of(pages[edition], width=width, bypass_csp=True)
    assert violations(page) == []


def test_axe_does_find_something(pages, page_of):
    """The check above can fail: a contrast of 2, a heading left out, a picture without words."""
    broken = pages["client"].replace("--second:#555", "--second:#bbb").replace('lang="en"', "")
    found = " ".join(violations(page_of(broken, bypass_csp=True)))
    assert "color-contrast" in found and "html-has-lang" in found


@pytest.mark.parametrize("width", [1280, 390, 320])
@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("script", [True, False])
def test_nothing_is_wider_than_the_window(edition, width, script, pages, page_of):
    page = page_of(pages[edition], width=width, script=script)
    assert page.told.nothing(), page.told
    # Without scripts nothing can be asked inside the page: a picture of all of it is as wide as it is.
    if script:
        assert sideways(page) == 0
    else:
        import io

        from PIL import Image

        assert Image.open(io.BytesIO(page.screenshot(full_page=True))).width == width


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_tab_stop_is_seen(edition, pages, page_of):
    """Catches: an outline thinner than 2 px or switched off, a stop outside of the window, a stop that cannot be left."""
    page = page_of(pages[edition], width=390)
    seen = []
    for _ in range(400):
        page.keyboard.press("Tab")
        stop = page.evaluate(
            """() => { const e = document.activeElement; if (!e || e === document.body) return null;
                const s = getComputedStyle(e), r = e.getBoundingClientRect();
                return {what: e.outerHTML.slice(0, 90), outline: parseFloat(s.outlineWidth), style: s.outlineStyle,
                        right: r.right, bottom: r.bottom, top: r.top, left: r.left}; }"""
        )
        if stop is None:
            break
        seen.append(stop)
    assert 2 <= len(seen) < 400
    for stop in seen:
        assert stop["outline"] >= 2 and stop["style"] == "solid", stop
        assert stop["bottom"] > 0 and stop["top"] < 900 and stop["right"] > 0 and stop["left"] < 390, stop


@pytest.mark.parametrize("edition", EDITIONS)
def test_it_is_told_in_grey_too(edition, pages, page_of):
    """Catches: a word or line that only its colour tells. Every colour of text is grey already."""
    page = page_of(pages[edition])
    colours = page.evaluate(
        """() => [...new Set([...document.querySelectorAll('main *')].filter(e => !e.closest('svg') && e.tagName !== 'INPUT')
            .map(e => getComputedStyle(e).color))]"""
    )
    for colour in colours:
        red, green, blue = (int(part) for part in colour[4:-1].split(","))
        assert red == green == blue, colour


@pytest.mark.parametrize("edition", EDITIONS)
def test_forced_colours_keep_the_figures_on_white(edition, pages, page_of):
    page = page_of(pages[edition], forced_colors="active")
    assert page.evaluate(
        "[...document.querySelectorAll('main svg')].every(e => getComputedStyle(e).forcedColorAdjust === 'none')"
    )


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_page_with_a_walk_test_is_no_worse(edition, page_of, tmp_path):
    """Catches: a table or figure of the walks that has no name, or that widens a phone's page; odd names do not."""
    names = ("x" * 60, "M" * 24, "N" * 24)
    plan = invented_proof.renamed(invented_proof.plan_of(), *names)
    files = invented_proof.files(tmp_path, plan)
    cameras = invented_proof.built_object(plan.site_sha256)
    for camera, mark in zip(cameras["cameras"], plan.marks):
        camera["mark"] = mark
    invented_proof.write(files["built"], cameras)
    html = fc.report(invented_proof.results_of_yard(plan.site_toml, names=names), edition, **files)
    page = page_of(html, width=320, bypass_csp=True)
    assert sideways(page) == 0 and violations(page) == [] and page.told.nothing()
