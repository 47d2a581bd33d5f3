"""What results show of themselves in a notebook and in a console."""

from html.parser import HTMLParser

import pytest

import fencecast as fc
from fencecast.cautions import CAUTION
from fencecast.estimate.results import Results as Found
from fencecast.findings.run import verdict_sentence
from show import invented_comparisons, invented_results
from show.wording import wrong_words

VOID = {"br"}


class Page(HTMLParser):
    """Tags, texts and cells of a piece of HTML; fails when a tag is not closed."""

    def __init__(self, html: str):
        super().__init__()
        self.open, self.tags, self.texts, self.rows = [], [], [], []
        self.feed(html)
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.texts.append(data)
        if {"td", "th"} & set(self.open):
            self.rows[-1][-1] += data


def test_results_show_the_verdict_the_classes_and_the_caution():
    """Catches: classes in another order than in the tables, metres of another class, a lost caution."""
    results = fc.Results(invented_results.yard())
    page = Page(results._repr_html_())
    assert verdict_sentence(results) in page.texts and page.texts[-1] == CAUTION
    assert page.texts[0] == "Invented laydown yard"
    assert page.rows[0] == ["class", "h/yr", "mean Pd", "meets", "undecided", "weak", "lowest Pd", "at"]
    for row, c in zip(page.rows[1:], results.worst_first, strict=True):
        assert row[0] == c.name and [float(cell) for cell in row[3:6]] == [round(m) for m in (c.meets_m, c.undecided_m, c.weak_m)]
    assert wrong_words(page.texts) == []
    text = repr(results).splitlines()
    assert text[0] == "Invented laydown yard" and text[1] == verdict_sentence(results) and text[-1] == CAUTION
    assert len({line.index(" 0.") for line in text[3:8]}) == 1  # columns stand below each other


def test_texts_of_users_are_escaped_and_nothing_runs():
    """Catches: a title or a class that becomes markup in the notebook's page, a script, a style sheet for the whole page."""
    data = invented_results.yard()
    classes = [str(name) for name in data["weather"].values]
    data = data.assign_coords(weather=[*classes[:-1], "<script>alert(1)</script> & 'fog'"]).assign_attrs(title='<img src="x">')
    page = Page(fc.Results(data)._repr_html_())
    assert {tag for tag, _ in page.tags} <= {"div", "p", "table", "thead", "tbody", "tr", "th", "td", "br", "small"}
    assert all(set(attrs) <= {"style"} for _, attrs in page.tags)
    assert '<img src="x">' in page.texts and "<script>alert(1)</script> & 'fog'" in [row[0] for row in page.rows]


@pytest.mark.parametrize("name", list(invented_results.ALL))
def test_results_of_every_kind_show_themselves(name):
    """Catches: a class without hours, a section without data or units of feet that the table cannot show."""
    results = fc.Results(invented_results.ALL[name]())
    page = Page(results._repr_html_())
    assert len(page.rows) == 1 + results.sizes["weather"] and CAUTION in repr(results)
    if results.units == "us":
        assert any(cell.endswith(" ft") for row in page.rows for cell in row)


def test_a_comparison_names_its_designs():
    """Catches: a Dataset of `compare` that breaks a notebook's cell."""
    data = invented_comparisons.flat(0.03)
    page = Page(fc.Results(data)._repr_html_())
    assert any("Comparison of" in text and str(data["variant"].values[0]) in text for text in page.texts)
    assert page.texts[-1] == CAUTION


def test_results_of_any_kind_are_wrapped_once():
    """Catches: a wrapped object wrapped again, a site that is parsed anew, an inner object that is not taken."""
    data = invented_results.yard()
    shown = fc.Results(data)
    assert fc.Results.of(shown) is shown and Found.of(shown) is shown
    inner = Found(data)
    site = inner.site
    again = fc.Results.of(Found(data, site))
    assert isinstance(again, fc.Results) and again.site is site and again.data is data
