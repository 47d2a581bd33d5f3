"""Files that cannot be read as a site, and the errors as objects: their words, and that they survive pickling."""

import math
import pickle
from pathlib import Path

import pytest

from config.reports import BASE, report_of
from fencecast.errors import FencecastError, InputError, Problem, UnknownNameError, UsageError, show_value
from fencecast.site import load_site, parse_site

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
        ("schema = 2\ntitle = \n", "yard.toml: line 2, column 9: this is not TOML: Invalid value: title ="),
        ('title = "abc', 'yard.toml: line 1, column 13: this is not TOML: Unterminated string: title = "abc'),
        ("schema = 2\nschema = 2\n", "yard.toml: line 2, column 11: this is not TOML: Cannot overwrite a value: schema = 2"),
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
        "  1. schema is missing: 2, the format that this version of fencecast reads; type for instance schema = 2\n"
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
