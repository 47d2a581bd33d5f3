"""Files of schema 1: one report that names every old key with its place and what to type now."""

import pytest

from config.reports import BASE, report_of
from fencecast.decide.study.file import load_study
from fencecast.errors import InputError
from fencecast.site import parse_site

OLD = """
schema = 1
title = "Old"
titel = "not a word of this: it is another report"
[[zone]]
name = "inside"
points_m = [[1.0, 1.0]]
heights_m = [4.0]
[[zone]]
name = "outside"
points_m = [[1.0, -1.0]]
heights_m = [4.0]
[[camera]]
mark = "C1"
service = "mast A"
[[camera]]
service = "mast B"
[[rule]]
kind = "field"
[[rule]]
kind = "line"
window_s = 1.5
[[weather]]
name = "rain"
window = { state = "drops", share = 0.05 }
[[variant]]
name = "clean"
change.weather.rain.window = { state = "dry" }
change.camera.C1.service = "mast B"
change.rule.1.window_s = 2.0
"""
REPORT = """yard.toml: 10 problems
  1. schema = 1 is the format of earlier versions; this one reads 2: type schema = 2
  2. [[zone]], 2 tables: type [[mounting]]
  3. camera "C1" service: type depends_on = "mast A"
  4. camera number 2 service: type depends_on = "mast B"
  5. rule number 1 kind = "field": type kind = "area"
  6. rule number 2 window_s: type time_window_s = 1.5
  7. weather "rain" window: type front_window = { state = "drops", share = 0.05 }
  8. variant "clean" change weather rain window: type change.weather.rain.front_window = { state = "dry" }
  9. variant "clean" change camera C1 service: type change.camera.C1.depends_on = "mast B"
  10. variant "clean" change rule 1 window_s: type change.rule.1.time_window_s = 2.0"""


def test_every_old_key_in_one_report():
    """Catches: an old key that is passed over, other problems mixed in, a report that comes one key at a time."""
    assert report_of(OLD) == REPORT


def test_only_the_number_is_old():
    """Catches: a file without old keys that is read by the wrong format, or refused without saying what to type."""
    line = "yard.toml: schema = 1 is the format of earlier versions; this one reads 2: type schema = 2"
    assert report_of(BASE.replace("schema = 2", "schema = 1")) == line


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('mark = "C1"', 'mark = "C1"\nservice = "A"', 'camera "C1" service = "A" is not a known key: did you mean depends_on?'),
        ("[[rule]]", "[[rule]]\nwindow_s = 1.0", "rule number 1 window_s = 1.0 is not a known key: did you mean time_window_s?"),
        ('kind = "line"', 'kind = "field"', 'is not allowed: one of "line", "area"; type for instance kind = "area"'),
        ("[[weather]]", "[[weather]]\nwindow = {}", "window = {} is not a known key: did you mean front_window?"),
        ("[[rule]]", "[[zone]]\n[[rule]]", "zone = [{}] is not a known key: did you mean mounting?"),
    ],
)  # fmt: skip
def test_an_old_key_in_a_new_file(old, new, words):
    assert old in BASE and words in report_of(BASE.replace(old, new, 1))


def test_a_study_of_schema_1(tmp_path):
    (tmp_path / "old.toml").write_text('schema = 1\nstrategies = ["chain"]\n[[weather]]\nname = "rain"\nwindow = {}\n')
    with pytest.raises(InputError) as caught:
        load_study(tmp_path / "old.toml")
    assert caught.value.exit_code == 2 and "\n".join(str(caught.value).splitlines()[1:]) == (
        "  1. schema = 1 is the format of earlier versions; this one reads 2: type schema = 2\n"
        '  2. weather "rain" window: type front_window = {}'
    )


def test_what_the_report_says_can_be_typed():
    """Every line of the report followed: none of the old keys is left to complain of."""
    text = OLD
    changes = {"schema = 1": "schema = 2", "[[zone]]": "[[mounting]]", "service": "depends_on", '"field"': '"area"'}
    changes |= {"window_s": "time_window_s", "rain.window": "rain.front_window", "\nwindow": "\nfront_window"}
    for old, new in changes.items():
        text = text.replace(old, new)
    with pytest.raises(InputError) as caught:
        parse_site(text)
    assert not any(word in str(caught.value) for word in ("zone", "service", "field", " window", "schema"))
