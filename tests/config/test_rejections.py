"""Every rejection of a site file and its exact words.

The table is `rejections.toml`: changes to `base.toml`, and the whole report that a user reads. Each case would catch a check that
no longer looks, looks at the wrong limit, stops at the first problem, or says something else than it should.
"""

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from config.reports import BASE, report_of
from fencecast.errors import InputError
from fencecast.site import Quantity, Site, parse_site
from fencecast.site.calibration import Calibration
from fencecast.site.reading import KEYED, REPEATED, SINGLE
from fencecast.site.schema import FrontWindow, Gate, check_of
from fencecast.site.whole import TOP

HERE = Path(__file__).parent
CASES = tomllib.loads((HERE / "rejections.toml").read_text(encoding="utf-8"))["case"]
TABLES = [*SINGLE.values(), *KEYED.values(), *REPEATED.values(), Gate, FrontWindow]


def changed(case) -> str:
    text = BASE if "base" not in case else (HERE / case["base"]).read_text(encoding="utf-8")
    for old, new in case["change"]:
        assert old in text, f"the file has no {old!r}"
        text = text.replace(old, new, 1)
    return text


def test_the_base_file_is_accepted():
    """Otherwise the cases below could be refused for a reason of their own."""
    assert parse_site(BASE).title == "Base"
    assert parse_site((HERE / "hourly.toml").read_text(encoding="utf-8")).title == "Hourly"


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["change"][0][1][:40])
def test_rejection_and_its_words(case):
    assert report_of(changed(case)) == case["report"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["change"][0][1][:40])
def test_python_keywords_give_the_same_report(case):
    """Would catch a check that sits in the file's loader instead of in the one place for checks."""
    try:
        keys = tomllib.loads(changed(case))
    except tomllib.TOMLDecodeError:
        assert "this is not TOML" in case["report"]
        return
    if "schema" not in keys and "schema is missing" in case["report"]:
        # In Python the format is that of the installed version, so it may be left out.
        assert Site(**keys).schema_version == 2
        return
    with pytest.raises(InputError) as caught:
        Site(**keys)
    assert str(caught.value) == case["report"].replace("yard.toml", "the site", 1)


def test_every_key_has_a_rejection():
    """Would catch a new key without a case in the table."""
    reports = "\n".join(case["report"] for case in CASES)
    entry = r'("[^"]*"|number \d+)'
    where = {cls: rf"\[{name}\]" for name, cls in SINGLE.items()}
    where |= {cls: rf"\[{name}\.\w+\]" for name, cls in KEYED.items()}
    where |= {cls: f"{name} {entry}" for name, cls in REPEATED.items()}
    where |= {Gate: f"gate {entry}", FrontWindow: "front_window"}
    missing = {
        f"{cls.__name__}.{key}"
        for cls, place in where.items()
        for key in cls.model_fields
        if not re.search(rf"(?m)(^| ){place} {key}( |$)", reports)
    }
    assert missing == set()


@pytest.mark.parametrize("cls", TABLES, ids=lambda cls: cls.__name__)
def test_what_a_message_says_to_type_is_accepted(cls):
    """Would catch an example outside the limits that it illustrates."""
    for key in cls.model_fields:
        check = check_of(cls, key)
        if check is None:
            continue
        with pytest.raises(ValueError) as caught:
            check.parse(None)
        refusal = caught.value.refusals[0]
        if not refusal.instead:
            # Nobody types such a list: the report names the command that writes it.
            assert cls is Calibration and "`fencecast walk fit` writes it" in refusal.allowed
            continue
        check.parse(tomllib.loads(f"{key} = {refusal.instead}")[key])


@pytest.mark.parametrize("kind", ["uniform", "normal", "lognormal", "triangular", "choice"])
@pytest.mark.parametrize("cls", TABLES, ids=lambda cls: cls.__name__)
def test_the_distribution_that_a_message_says_to_type_is_accepted(cls, kind):
    for key in cls.model_fields:
        check = check_of(cls, key)
        if type(check).__name__ != "Varying":
            continue
        with pytest.raises(ValueError) as caught:
            check.parse({"dist": kind, "wrong": 1})
        for refusal in caught.value.refusals:
            quantity = check.parse(tomllib.loads(f"{key} = {refusal.instead}")[key])
            # No lognormal is around or below zero; a uniform is proposed there.
            below_zero = kind == "lognormal" and "lognormal" not in refusal.instead and check.number.limits[0] < 0
            assert quantity.dist == ("uniform" if below_zero else kind)


def test_a_misspelt_key_that_was_needed_is_one_problem():
    report = report_of(BASE.replace("pitch_um", "ptch_um"))
    assert report == "yard.toml: [sensors.core] ptch_um = 17.0 is not a known key: did you mean pitch_um?"


def test_an_unreadable_table_makes_no_false_unknown_names():
    """A rule that names a camera whose mark could not be read is not wrong on that account."""
    report = report_of(BASE.replace('mark = "C1"', "mark = 1"))
    assert "rule" not in report and "camera number 1 mark = 1 is not allowed" in report


def test_all_stages_report_at_once():
    """Would catch a loader that stops after the keys and never reaches references, shapes and sums."""
    text = (
        BASE.replace("netd_mk = 50.0", "netd_mk = -50.0")
        .replace('sensor = "core"', 'sensor = "coer"', 1)
        .replace("[[0.0, 0.0], [48.0, 0.0]]", "[[0.0, 0.0], [48.0, 0.0], [24.0, 0.0]]")
        .replace("hours_per_year = 3000", "hours_per_year = 8700")
    )
    report = report_of(text)
    assert report.startswith("yard.toml: 4 problems\n  1. ")
    for part in ("netd_mk = -50.0", 'sensor = "coer"', "does not cross or touch itself", "together = 8900.0"):
        assert part in report


# ------------------------------------------------------------------------------------------------ anything at all

_junk = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(min_value=10**400, max_value=10**401),
    st.floats(),
    st.text(max_size=8),
    st.binary(max_size=3),
    st.dates(),
    st.sampled_from(["4 ft", "nan", "41 F", "1e999 m", "{", Quantity.fixed(1e9), object(), (), ((),)]),
    st.lists(st.one_of(st.floats(), st.text(max_size=3), st.lists(st.floats(), max_size=3)), max_size=4),
    st.dictionaries(
        st.sampled_from(["dist", "low", "high", "mean", "sd", "values", "name", "x"]),
        st.one_of(st.floats(), st.lists(st.floats(), max_size=2), st.text(max_size=3)),
        max_size=3,
    ),
    st.fixed_dictionaries({"dist": st.sampled_from(["uniform", "normal", "choice"]), "low": st.floats(), "high": st.floats()}),
)


def _places(node, path=()):
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, part in items:
        yield (*path, key)
        yield from _places(part, (*path, key))


_ALL_PLACES = list(_places(tomllib.loads(BASE)))


@settings(max_examples=300, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(_ALL_PLACES), _junk), min_size=1, max_size=3))
def test_anything_anywhere_is_accepted_or_reported(changes):
    """Would catch a crash: whatever stands at whatever key, the answer is a site or an InputError that can be printed."""
    keys = tomllib.loads(BASE)
    for path, value in changes:
        node = keys
        try:
            for step in path[:-1]:
                node = node[step]
            node[path[-1]] = value
        except (KeyError, TypeError, IndexError):
            continue  # an earlier change took the place away
    try:
        assert isinstance(Site(**keys), Site)
    except InputError as error:
        assert str(error).startswith("the site: ")


def test_top_level_examples_are_accepted():
    for key, (check, _) in TOP.items():
        with pytest.raises(ValueError) as caught:
            check.parse(None)
        check.parse(tomllib.loads(f"{key} = {caught.value.refusals[0].instead}")[key])
