"""`fencecast check`: text, one JSON object, a picture that appears whole, exit codes; the line in `run`."""

import json

import pytest
from command_line import CAUTION, TINY, flat, typed
from PIL import Image

import fencecast as fc

MAST = TINY.replace("position_m = [-14.0, 2.0]", "position_m = [0.0, 2.0]").replace("aim_m = [6.0, 0.0]", "aim_m = [16.0, 2.0]")
ACCEPTED = """
[[accept]]
check = "under-mast"
object = "camera C1"
reason = "a guard stands there"
by = "A. Reviewer"
on = 2026-11-29
"""


def test_the_text_says_what_where_why_and_what_to_do(yard):
    (yard / "tiny.toml").write_text(MAST)
    ended = typed("check", "tiny.toml")
    assert (ended.code, ended.err) == (0, "")
    said = flat(ended.out)
    assert "Design review without simulation: " in said and " stop" in said
    assert "stop under-mast camera C1" in said and "limit 0 m" in said and "-> let another camera look back" in said
    assert "Geometric coverage of 12 m" in said and "Not asked" in said and CAUTION in said


def test_json_is_the_library_s_object(yard):
    """Catches: a lost key, an infinity in the object, a count that does not fit the list."""
    (yard / "tiny.toml").write_text(MAST + ACCEPTED)
    ended = typed("check", "tiny.toml", "--json")
    said = json.loads(ended.out, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    assert (ended.code, ended.err) == (0, "")
    assert set(said) == {
        "title", "version", "site_sha256", "counts", "findings", "not_asked", "silent", "not_found_any_more",
        "geometric_coverage", "below_requirement_m", "seconds", "caution",
    }  # fmt: skip
    open_ones = [f for f in said["findings"] if f["accepted"] is None or f["again"]]
    for severity in ("stop", "warn", "note"):
        assert said["counts"][severity] == sum(f["severity"] == severity for f in open_ones)
    assert said["counts"]["accepted"] == 1
    mast = next(f for f in said["findings"] if f["id"] == "under-mast")
    assert mast["spans"][0][0] == "south" and mast["unit"] == "m" and mast["accepted"]["by"] == "A. Reviewer"
    library = [(f.id, f.object, f.value) for f in fc.check("tiny.toml").findings]
    assert [(f["id"], f["object"], f["value"]) for f in said["findings"]] == library


@pytest.mark.parametrize(
    ("text", "options", "code"),
    [
        (MAST, (), 0),
        (MAST, ("--require",), 3),
        (MAST + ACCEPTED, ("--require",), 0),
        (MAST + ACCEPTED, ("--require", "--strict"), 3),
        (TINY, ("--require",), 0),
    ],
)
def test_exit_codes(yard, text, options, code):
    """Catches: an accepted stop that still stops a build, an open one that does not."""
    (yard / "tiny.toml").write_text(text)
    assert typed("check", "tiny.toml", *options).code == code


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--only", "under-masts"), 'check "under-masts" is not known: did you mean "under-mast"?'),
        (("--group", "wether"), 'group "wether" is not known: did you mean "weather"?'),
        (("-o", "plan.jpg"), "plan.jpg"),
    ],
)
def test_wrong_input_ends_with_2(yard, words, said):
    ended = typed("check", "tiny.toml", *words)
    assert ended.code == 2 and said in flat(ended.err) and "Traceback" not in ended.err


def test_only_and_group_leave_out_and_change_no_number(yard):
    """Catches: an edge of a stretch that counts by itself once the check before it is left out."""
    (yard / "tiny.toml").write_text(MAST)
    whole = {(f.id, f.object): f.value for f in fc.check("tiny.toml").findings}
    part = json.loads(typed("check", "tiny.toml", "--only", "feet-unseen", "--only", "under-mast", "--json").out)
    assert {f["id"] for f in part["findings"]} <= {"feet-unseen", "under-mast"}
    assert all(whole[f["id"], f["object"]] == f["value"] for f in part["findings"])
    group = json.loads(typed("check", "tiny.toml", "--group", "mounting", "--json").out)
    assert {f["group"] for f in group["findings"]} == {"mounting"}


def test_all_prints_what_to_paste(yard):
    (yard / "tiny.toml").write_text(MAST)
    said = typed("check", "tiny.toml", "--all").out
    assert "[[accept]]" in said and 'object = "camera C1"' in said and "Asked, and nothing found" in said


def test_the_picture_appears(yard):
    (yard / "tiny.toml").write_text(MAST)
    ended = typed("check", "tiny.toml", "-o", "check.png")
    assert ended.code == 0 and "Written  check.png" in ended.out
    with Image.open(yard / "check.png") as image:
        assert image.width == pytest.approx(180 / 25.4 * 200, abs=1)


def test_run_says_one_line_and_keeps_the_findings(yard):
    (yard / "tiny.toml").write_text(MAST)
    ended = typed("run", "tiny.toml", "--precision", "0.2", "--no-pictures")
    found = fc.check("tiny.toml")
    line = f"Design review: {found.count('stop')} stop, {found.count('warn')} warn; fencecast check tiny.toml"
    assert ended.code == 0 and line in ended.out
    with fc.open_results("tiny-results/results.nc") as results:
        kept = json.loads(results.attrs["findings"])
        assert [(f["id"], f["object"]) for f in kept] == [(f.id, f.object) for f in found.findings]
        assert "under-mast" in results.attrs["design_review_stops"]
