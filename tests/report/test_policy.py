"""A report is opened by people who did not write it: hostile names are text, nothing is asked for or put in later."""

from __future__ import annotations

import html
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from jinja2 import Environment
from named_sites import results_of
from page_checks import sideways

import fencecast as fc
from fencecast.report.options import ReportOptions
from fencecast.report.policy import content_policy, css_string, hash_source, one_direction, script_json
from fencecast.show.svg.bars import share_bar_svg

EDITIONS = ("full", "client")
# What names may hold (60 printable characters); the schema itself refuses line separators and signs of direction.
HOSTILE = (
    "</script><script>alert(1)</script>",
    "</style><style>*{display:none}</style>",
    "\"'`--></title><img src=x onerror=alert(2)>",
    "{{7*7}} {% raw %} ${7*7} &lt;b&gt; &amp;",
    "</svg></table><h1>SAY</h1><!--",
)
OPTIONS = {
    "made_for": "</dd><script>alert(3)</script>\u2028\u202eevil",
    "made_by": '"><a href=javascript:alert(4)>x</a> {{7*7}}',
    "issue": "9</title><script>alert(5)</script>\\22 }",
    "mark": "\u202e\u2066 kram </p><script>alert(6)</script>" + "W" * 100,
}
TITLE = "Yard </title><script>alert(7)</script> {{7*7}}"


@pytest.fixture(scope="session")
def hostile(tmp_path_factory):
    """Results and comparison of a site that is called names, in every name; attributes too."""
    number = iter(range(10_000))
    names: dict[str, str] = {}

    def name(kind: str) -> str:
        if kind not in names:
            k = next(number)
            # Marks have 24 characters at most.
            names[kind] = f"</td><script>a({k})//" if kind.startswith("camera") else HOSTILE[k % len(HOSTILE)][:56] + f" {k}"
        return names[kind]

    classes = ("clear <script>alert(8)</script>", "fog \"'> {{7*7}}")
    results, compared = results_of(tmp_path_factory.mktemp("hostile"), name, TITLE, classes)
    results.attrs |= {"not_modelled": "</ul><script>alert(9)</script>\nfine\u2028\u202e"}
    return results, compared


def page_of_hostile(hostile, edition: str) -> str:
    return fc.report(hostile[0], edition, hostile[1], **OPTIONS)


def attribute_names(text: str) -> set[str]:
    """Names of all attributes in a page as it is written."""
    found: set[str] = set()

    class Reader(HTMLParser):
        def handle_starttag(self, tag, attrs):
            found.update(name for name, _ in attrs)

    Reader().feed(text)
    return found


@pytest.mark.parametrize("edition", EDITIONS)
def test_hostile_names_make_no_element_and_do_nothing(hostile, edition, page_of):
    """Catches: a name that is not escaped, in HTML, in a style sheet, in an SVG, in data for a script."""
    text = page_of_hostile(hostile, edition)
    page = page_of(text)
    assert page.told.nothing(), page.told
    assert page.title().startswith("Yard </title><script>alert(7)</script> {{7*7}} · " + edition)
    assert page.evaluate("document.images.length") == 0
    assert page.evaluate("document.querySelectorAll('h1').length") == 1
    assert page.evaluate("document.querySelectorAll('style').length") == 2
    assert not page.evaluate("[...document.links].filter(a => !a.getAttribute('href').startsWith('#')).length")
    scripts = page.evaluate("[...document.scripts].map(s => s.type || 'script')")
    assert edition == "full" or scripts == []
    assert len(scripts) <= 2 and not any(
        "alert" in text for text in page.evaluate("[...document.scripts].map(s => s.type ? '' : s.text)")
    )
    assert not [name for name in attribute_names(text) if name == "style" or name.startswith("on")]
    assert "49" not in page.inner_text("h1") and "{{7*7}}" in page.inner_text("h1")


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_policy_is_first_and_refuses_what_comes_later(hostile, edition, page_of):
    """Catches: a policy that is not there, is not obeyed, or stands behind something that it should rule."""
    text = page_of_hostile(hostile, edition)
    assert text.index("<meta") == text.index('<meta http-equiv="Content-Security-Policy"')
    page = page_of(text)
    failed: list[str] = []
    page.on("requestfailed", lambda request: failed.append(request.failure))
    page.evaluate(
        """() => {
            const script = document.createElement('script'); script.text = 'window.came = 1'; document.head.append(script);
            const style = document.createElement('style'); style.textContent = 'h1{color:red}'; document.head.append(style);
            const image = new Image(); image.src = 'https://example.invalid/x.png'; document.body.append(image);
            document.body.setAttribute('style', 'background:red');
        }"""
    )
    page.wait_for_timeout(100)
    assert page.evaluate("window.came") is None
    assert page.evaluate("getComputedStyle(document.querySelector('h1')).color") == "rgb(26, 26, 26)"
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert failed == ["csp"]  # refused by the policy, before any network
    assert len(page.told.console) >= 4 and all("Content Security Policy" in line for line in page.told.console)


def test_the_same_page_without_its_policy_would_let_them_in(hostile, page_of):
    """The check above can fail: without the policy a later script runs."""
    page = page_of(re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", page_of_hostile(hostile, "client")))
    page.evaluate("() => { const s = document.createElement('script'); s.text = 'window.came = 1'; document.head.append(s); }")
    assert page.evaluate("window.came") == 1


@pytest.mark.parametrize("edition", EDITIONS)
def test_signs_of_direction_turn_nothing(hostile, edition, page_of):
    """Catches: a name with an override in front of the handling mark, which would show it back to front."""
    text = page_of_hostile(hostile, edition)
    assert not re.search("[\u202a-\u202e\u2066-\u2069]", text)
    page = page_of(text)
    # The letters of the edition stand from left to right on the screen.
    lefts = page.evaluate(
        """() => { const node = document.querySelector('.mark span').firstChild, found = [];
            for (let k = 0; k < 6; k++) { const r = document.createRange(); r.setStart(node, k); r.setEnd(node, k + 1);
                found.push(r.getBoundingClientRect().left); } return found; }"""
    )
    assert lefts == sorted(lefts) and len(set(lefts)) > 4
    assert page.inner_text(".mark span").startswith(f"{edition.upper()} EDITION · ")


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("width", [1280, 390, 320])
def test_long_words_stay_in_the_window(hostile, edition, width, page_of):
    """Catches: a name of 200 letters without a blank that widens the page."""
    longest = "W" * 200
    results = hostile[0].copy()
    results.attrs = results.attrs | {"title": longest}
    results = results.assign_coords(weather=[longest, "fog"])
    page = page_of(fc.report(results, edition, **dict.fromkeys(("made_for", "made_by", "issue", "mark"), longest)), width=width)
    assert sideways(page) == 0


def test_policy_names_the_hashes_of_what_the_page_holds(hostile):
    """Catches: a sheet that changes after its hash was taken."""
    for edition in EDITIONS:
        text = page_of_hostile(hostile, edition)
        policy = html.unescape(re.search(r'Content-Security-Policy" content="([^"]*)"', text)[1])
        for sheet in re.findall(r"<style>(.*?)</style>", text, re.DOTALL):
            assert hash_source(sheet) in policy
        assert "unsafe" not in policy and policy.startswith("default-src 'none'")
        assert "http" not in policy
    assert "script-src 'none'" in content_policy(("a",), None)


@pytest.mark.parametrize("text", ['a"b', "a\\b", "</style>", "a}b{c:d", "9 a", "a\nb", "é x", "\u2028", "*/ /*"])
def test_css_strings_say_what_was_written(text, page_of):
    """A browser reads the string back. Catches: a blank eaten behind a number, a string that ends early."""
    sheet = f"<style>p::before{{content:{css_string(text)}}}</style>"
    page = page_of(f"<!doctype html><html lang=en><meta charset=utf-8><title>t</title>{sheet}<p>")
    told = page.evaluate("getComputedStyle(document.querySelector('p'), '::before').content")
    assert told[0] == told[-1] == '"'
    assert re.sub(r"\\([0-9a-f]+) ", lambda m: chr(int(m[1], 16)), told[1:-1]).replace('\\"', '"').replace("\\\\", "\\") == text


def test_one_direction_leaves_scripts_and_marks_alone():
    assert one_direction("שלום \u200f مرحبا") == "שלום \u200f مرحبا"
    assert one_direction("a\u202eb\u2066c\u2069d\u202ce") == "a\ufffdb\ufffdc\ufffdd\ufffde"


def test_no_template_marks_anything_as_markup():
    """Catches: a filter that switches escaping off. Figures are markup by themselves; nothing else is."""
    templates = list((Path(fc.__file__).parent / "report" / "templates").rglob("*.j2"))
    assert len(templates) > 20
    for path in templates:
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"\|\s*safe\b|autoescape", text), path.name


def test_figures_are_markup_and_what_is_added_to_them_is_not():
    """Catches: markup joined with a name and taken for markup still."""
    figure = share_bar_svg(40.0, 2.0, 121.0, 0.0)
    made = Environment(autoescape=True).from_string("{{ a }}{{ b }}").render(a=figure.svg, b=figure.svg + "<script>")
    assert made.startswith("<svg") and "&lt;script&gt;" in made and "<script>" not in made


def test_data_for_a_script_cannot_end_it():
    text = script_json({"a": "</script><!--&\u2028\u2029"})
    assert not set(text) & set("<>&\u2028\u2029") and json.loads(text) == {"a": "</script><!--&\u2028\u2029"}
    with pytest.raises(ValueError):
        script_json([float("nan")])


@pytest.mark.parametrize("value", ["two\nlines", "\x00", "\x7f", "x" * 201, "\udcff"])
@pytest.mark.parametrize("name", ["made_for", "made_by", "issue", "mark"])
def test_options_that_are_no_line_are_refused(name, value):
    """Catches: bytes of a shell that are no text, which would fail while the page is written."""
    with pytest.raises(fc.UsageError, match="one line of at most 200 characters"):
        ReportOptions(**{name: value})
