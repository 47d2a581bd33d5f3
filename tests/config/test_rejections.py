"""Every rejection of a site file and its exact words.

The table is `rejections.toml`: changes to `base.toml`, and the whole report that a user reads. Each case would catch a check that
no longer looks, looks at the wrong limit, stops at the first problem, or says something else than it should.
"""

import math
import pickle
import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fencecast.errors import FencecastError, InputError, Problem, UnknownNameError, UsageError, show_value
from fencecast.site import Quantity, Site, load_site, parse_site
from fencecast.site.reading import KEYED, REPEATED, SINGLE
from fencecast.site.schema import Gate, Window, check_of
from fencecast.site.whole import _TOP

HERE = Path(__file__).parent
BASE = (HERE / "base.toml").read_text(encoding="utf-8")
CASES = tomllib.loads((HERE / "rejections.toml").read_text(encoding="utf-8"))["case"]
TABLES = [*SINGLE.values(), *KEYED.values(), *REPEATED.values(), Gate, Window]


def changed(case) -> str:
    text = BASE
    for old, new in case["change"]:
        assert old in text, f"base.toml has no {old!r}"
        text = text.replace(old, new, 1)
    return text


def report_of(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse_site(text, "yard.toml")
    return str(caught.value)


def test_the_base_file_is_accepted():
    """Otherwise the cases below could be refused for a reason of their own."""
    assert parse_site(BASE).title == "Base"


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
        assert Site(**keys).schema_version == 1
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
    where |= {Gate: f"gate {entry}", Window: "window"}
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
        instead = caught.value.refusals[0].instead
        check.parse(tomllib.loads(f"{key} = {instead}")[key])


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


# ------------------------------------------------------------------------------------------------ files


def file_report(path) -> str:
    with pytest.raises(InputError) as caught:
        load_site(path)
    assert caught.value.exit_code == 2
    assert caught.value.__cause__ is None and caught.value.__suppress_context__
    return str(caught.value)


def test_missing_file(tmp_path):
    (tmp_path / "other.toml").write_text("")
    path = tmp_path / "yard.toml"
    assert file_report(path) == f"{path}: there is no such file (there is: other.toml)"
    nowhere = tmp_path / "none" / "yard.toml"
    assert file_report(nowhere) == f"{nowhere}: there is no such file"


def test_folder_instead_of_file(tmp_path):
    assert file_report(tmp_path) == f"{tmp_path}: this is a folder; name the site file in it"


def test_file_that_may_not_be_read(tmp_path, monkeypatch):
    def refuse(self):
        raise PermissionError(13, "Permission denied")

    # An administrator may read everything, so the refusal is made here and not by the file's mode.
    monkeypatch.setattr(Path, "read_bytes", refuse)
    path = tmp_path / "yard.toml"
    assert file_report(path) == f"{path}: this file may not be read by you; change its permissions"


def test_file_that_cannot_be_read(tmp_path):
    path = tmp_path / "yard.toml" / "yard.toml"
    (tmp_path / "yard.toml").write_text("")
    assert file_report(path) == f"{path}: this file cannot be read: Not a directory"
    assert "cannot be read" in file_report("yard\0.toml")


def test_file_that_is_not_utf8(tmp_path):
    path = tmp_path / "yard.toml"
    path.write_bytes(BASE.replace('title = "Base"', 'title = "Bäse"').encode("latin-1"))
    assert file_report(path) == f"{path}: line 2: byte 0xe4 is not UTF-8 text; save the file as UTF-8"


def test_files_from_other_editors_are_read(tmp_path):
    """A byte-order mark and the line ends of another system are no mistakes."""
    path = tmp_path / "yard.toml"
    path.write_bytes(b"\xef\xbb\xbf" + BASE.replace("\n", "\r\n").encode())
    assert load_site(path) == parse_site(BASE)


@pytest.mark.parametrize(
    ("text", "report"),
    [
        ("schema = 1\ntitle = \n", "yard.toml: line 2, column 9: this is not TOML: Invalid value: title ="),
        ('title = "abc', 'yard.toml: line 1, column 13: this is not TOML: Unterminated string: title = "abc'),
        ("schema = 1\nschema = 2\n", "yard.toml: line 2, column 11: this is not TOML: Cannot overwrite a value: schema = 2"),
    ],
)
def test_toml_mistakes_name_line_and_column(text, report):
    assert report_of(text) == report


def test_hostile_texts_end_as_reports():
    assert "nested too deeply" in report_of("a = " + "[" * 100_000)
    assert "this is not TOML" in report_of("a = " + "9" * 5000)


def test_an_empty_file_says_all_that_is_needed():
    assert report_of("") == (
        "yard.toml: 9 problems\n"
        "  1. schema is missing: 1, the format that this version of fencecast reads; type for instance schema = 1\n"
        "  2. title is missing: a title: text in quotes, 1 to 200 characters, no blank at either end; "
        'type for instance title = "North yard"\n'
        '  3. [site] is missing: a table [site] with ground = "gravel" or another ground\n'
        "  4. [sensors.NAME] is missing: one or more tables [sensors.NAME]\n"
        "  5. [lenses.NAME] is missing: one or more tables [lenses.NAME]\n"
        "  6. [[perimeter]] is missing: one or more tables [[perimeter]]\n"
        "  7. [[camera]] is missing: one or more tables [[camera]]\n"
        "  8. [[rule]] is missing: one or more tables [[rule]]\n"
        "  9. [[weather]] is missing: one or more tables [[weather]]"
    )


# ------------------------------------------------------------------------------------------------ errors themselves


def test_unknown_names():
    error = UnknownNameError("weather", "fgo", ["clear", "fog"], "yard.toml")
    assert str(error) == 'weather "fgo" is not known: did you mean "fog"? yard.toml has: "clear", "fog"'
    assert isinstance(error, UsageError) and isinstance(error, FencecastError) and error.exit_code == 2
    assert str(UnknownNameError("camera", "Z", ["C1"])) == 'camera "Z" is not known: the site has: "C1"'
    assert str(UnknownNameError("camera", "Z", [])) == 'camera "Z" is not known: the site has none'


def test_errors_survive_pickling():
    """Workers hand errors over by pickling; a value that is missing must stay missing."""
    error = InputError([Problem("title", Problem.MISSING, "a title"), Problem("seed", -1, "more", "seed = 1")], "yard.toml")
    again = pickle.loads(pickle.dumps(error))
    assert str(again) == str(error)
    assert str(again) == (
        "yard.toml: 2 problems\n  1. title is missing: a title\n  2. seed = -1 is not allowed: more; type for instance seed = 1"
    )
    unknown = UnknownNameError("camera", "Z", ["C1"])
    assert str(pickle.loads(pickle.dumps(unknown))) == str(unknown)


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (True, "true"),
        (3, "3"),
        (3.0, "3.0"),
        ('a "b" \\ \n', '"a \\"b\\" \\\\ \\u000a"'),
        ({"a b": [1, 2.5], "c": {}}, '{ "a b" = [1, 2.5], c = {} }'),
        (math.nan, "nan"),
        (10**5000, "an integer of more than 60 digits"),
        ("x" * 100, '"' + "x" * 67 + " ..."),
    ],
    ids=lambda _: "",
)
def test_values_are_shown_as_they_would_be_typed(value, shown):
    assert show_value(value) == shown


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
    for key, (check, _) in _TOP.items():
        with pytest.raises(ValueError) as caught:
            check.parse(None)
        check.parse(tomllib.loads(f"{key} = {caught.value.refusals[0].instead}")[key])
