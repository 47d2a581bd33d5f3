"""`fencecast run`: folder, tables, JSON and exit codes of real, tiny runs."""

import json
import os
import shlex

import numpy as np
import pytest
from command_line import CAUTION, PICTURES, QUICK, SECOND_SECTION, TINY, errors_of, flat, typed

import fencecast as fc
from fencecast.cli.output import say_json


@pytest.fixture(scope="module")
def tiny_run(tmp_path_factory):
    """One run of the tiny site with --json and with pictures: how it ended, its folder."""
    folder = tmp_path_factory.mktemp("run")
    (folder / "tiny.toml").write_text(TINY)
    here = os.getcwd()
    os.chdir(folder)
    try:
        return typed("run", "tiny.toml", "--json", "--precision", "0.1"), folder
    finally:
        os.chdir(here)


def test_a_run_writes_its_folder_and_nothing_else(tiny_run):
    """Catches: files elsewhere, a missing picture, an empty one, temporary folders that stay."""
    ended, folder = tiny_run
    assert ended.code == 0
    assert sorted(os.listdir(folder)) == ["tiny-results", "tiny.toml"]
    written = [*PICTURES, "manifest.json", "results.nc"]
    assert sorted(os.listdir(folder / "tiny-results")) == sorted(written)
    assert all((folder / "tiny-results" / name).stat().st_size > 500 for name in written)
    assert (folder / "tiny-results" / "plan.png").read_bytes()[:4] == b"\x89PNG"


def test_json_is_one_object_with_the_promised_keys(tiny_run):
    """Catches: a key renamed, NaN, text beside the object."""
    ended, _ = tiny_run
    said = json.loads(ended.out, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    promised = {"title", "version", "seed", "crossings", "looks", "seconds", "requirement", "met", "weakest", "classes", "files"}
    assert promised | {"caution", "not_modelled"} <= set(said)
    assert any("assessment and response" in each for each in said["not_modelled"])
    assert {"segment", "section", "place", "chainage_m", "weather", "pd", "pd_low", "pd_high", "cause"} <= set(said["weakest"])
    for each in said["classes"]:
        assert {"name", "hours", "mean_pd", "meets_m", "undecided_m", "weak_m"} <= set(each)
    assert errors_of(ended) == []


def test_what_is_no_number_is_null(capsys):
    """Catches: NaN or Infinity, which no JSON reader takes; numpy numbers, which the writer refuses."""
    say_json({"a": np.float64("nan"), "b": [float("inf"), np.int64(3), np.bool_(True)], "c": {"d": np.array([1.5, np.nan])}})
    assert json.loads(capsys.readouterr().out, parse_constant=pytest.fail) == {
        "a": None,
        "b": [None, 3, True],
        "c": {"d": [1.5, None]},
    }


def test_json_agrees_with_the_results_file(tiny_run):
    """Catches: a number that is not the one in results.nc; the weakest place with the numbers it was picked by."""
    ended, folder = tiny_run
    said = json.loads(ended.out)
    results = fc.open_results(folder / "tiny-results" / "results.nc")
    attrs = results.attrs
    assert [said["title"], said["seed"], said["version"], said["requirement"]] == ["Tiny yard", 4, fc.__version__, 0.9]
    assert (said["crossings"], said["looks"], said["seconds"]) == (
        attrs["crossings_total"],
        attrs["looks_total"],
        attrs["seconds"],
    )
    assert said["files"] == [f"tiny-results/{name}" for name in ["results.nc", *PICTURES, "manifest.json"]]
    assert said["caution"] == CAUTION
    for i, each in enumerate(said["classes"]):
        assert each["name"] == str(results["weather"].values[i])
        assert each["hours"] == [3000.0, 200.0][i]
        assert each["mean_pd"] == pytest.approx(results["pd"].values[i].mean(), rel=1e-12)  # equal segments: a plain mean
        assert each["meets_m"] + each["undecided_m"] + each["weak_m"] == pytest.approx(12.0)
        assert each["weak_m"] == pytest.approx(4.0 * np.sum(results["verdict"].values[i] == "weak"))
    fresh = results["pd_fresh"].values
    row, segment = np.unravel_index(np.nanargmin(results["pd"].values), fresh.shape)
    weakest = said["weakest"]
    assert (weakest["weather"], weakest["segment"], weakest["section"]) == ("thick fog", segment, "south")
    assert weakest["pd"] == fresh[row, segment] != results["pd"].values[row, segment]
    assert weakest["pd_low"] <= weakest["pd"] <= weakest["pd_high"]
    assert weakest["chainage_m"] == 4.0 * segment + 2.0
    assert weakest["cause"] == str(results["cause"].values[np.argmax(results["miss_share"].values[:, row, segment])])
    assert weakest["place"].startswith("A ") and weakest["place"].endswith(" m")


def test_the_command_line_is_kept_as_typed(tiny_run):
    """Catches: results that do not say how they were made."""
    _, folder = tiny_run
    results = fc.open_results(folder / "tiny-results" / "results.nc")
    assert shlex.split(results.attrs["command"]) == ["fencecast", "run", "tiny.toml", "--json", "--precision", "0.1"]


def test_plot_draws_the_same_pictures_again(tiny_run):
    """Catches: `plot` computing, drawing something else, or losing the results."""
    _, folder = tiny_run
    results = folder / "tiny-results" / "results.nc"
    before = {name: (folder / "tiny-results" / name).read_bytes() for name in ["results.nc", *PICTURES]}
    ended = typed("plot", str(results), "-o", str(folder / "again"))
    assert ended.code == 0
    assert sorted(os.listdir(folder / "again")) == sorted([*PICTURES, "manifest.json"])
    assert ended.out.split() == f"Written in {folder}/again: {', '.join([*PICTURES, 'manifest.json'])}".split()
    assert (folder / "again" / "plan.png").read_bytes() == before["plan.png"]
    (folder / "tiny-results" / "plan.png").unlink()
    assert typed("plot", str(results)).code == 0
    assert (folder / "tiny-results" / "plan.png").read_bytes() == before["plan.png"]
    assert results.read_bytes() == before["results.nc"]


def test_tables_say_when_where_and_why(yard):
    """Catches: a class, a place, its cause or the caution missing; colours or progress on standard output of a pipe."""
    ended = typed("run", "tiny.toml", *QUICK)
    assert ended.code == 0
    lines = ended.out.splitlines()
    results = fc.open_results(yard / "tiny-results" / "results.nc")
    assert lines[0] == "Tiny yard"
    assert lines[1] == "Requirement not met: all 12 m weak in thick fog, the worst class."
    crossings, looks = results.attrs["crossings_total"], results.attrs["looks_total"]
    assert any(line.startswith(f"seed 4 · {crossings:,} crossings · {looks:,} looks · ") for line in lines)
    assert any(line.endswith(" looks a second") for line in lines)
    columns = [line.split() for line in lines if line.startswith(("thick fog  ", "clear night  "))]
    fog, clear = columns[0], columns[1]  # worst first
    assert fog[:3] == ["thick", "fog", "200"] and fog[4:7] == ["0", "0", "12"]
    assert clear[:3] == ["clear", "night", "3,000"] and clear[4:7] == ["12", "0", "0"]
    assert fog[3] == f"{results['pd'].values[1].mean():.2f}" != clear[3]
    place = next(line for line in lines if line.startswith("A 0–12 m  "))
    assert "thick fog" in place and "weak in 1 of 2 classes" in place
    assert lines[lines.index(place) + 1].startswith("    Washed out, nearly all misses. Best camera here: C1, 2")
    why = "the fog takes it, without fog Pd >0.99. Lowest at A 8–12 m. Most of the fence is also weak in thick fog."
    assert why in flat(ended.out)
    assert "too widespread to be single places" not in ended.out, "its own class is the only weak one"
    assert "too low by selection" in ended.out
    assert "per ln N50" in ended.out and "per ln NETD" in ended.out
    assert "Encounter correlation 0.5" in ended.out
    assert "False alarms from sensor noise alone, per camera and day: below 0.001 for every camera." in flat(ended.out)
    assert "Pd, here the probability of an alarm after confirmation: " in ended.out
    assert "Not modelled or uncertain: " in ended.out
    assert CAUTION in flat(ended.out)
    written = "\nWritten in tiny-results: results.nc, manifest.json\nNext: fencecast report tiny-results/results.nc\n"
    assert ended.out.endswith(written)
    assert "\x1b" not in ended.out
    assert max(map(len, lines)) <= 100
    assert errors_of(ended) == []
    assert [line for line in ended.err.splitlines() if line.endswith(" ...")]


def test_feet_stand_beside_metres(yard):
    """Catches: a table that forgets `units = "us"`."""
    (yard / "tiny.toml").write_text(TINY.replace("seed = 4", 'seed = 4\nunits = "us"'))
    ended = typed("run", "tiny.toml", *QUICK)
    assert "all 12 m (39 ft) weak in thick fog" in ended.out
    assert "39 ft" in ended.out.split("When:")[1].split("Where and why:")[0]


def test_chosen_classes_are_said_to_be_all_the_year(yard):
    """Catches: a year over one class that looks like the whole year."""
    ended = typed("run", "tiny.toml", "--weather", "thick fog", *QUICK)
    assert "Only thick fog was run, of 2 classes: the year here is weighted over this one alone." in flat(ended.out)
    results = fc.open_results(yard / "tiny-results" / "results.nc")
    assert np.array_equal(results["pd_year"].values, results["pd"].values[0])
    assert "are weighted" not in typed("run", "tiny.toml", *QUICK, "--force").out


def test_numbers_short_of_the_precision_are_counted(yard):
    """Catches: a cap that was reached in silence; numbers counted by another width than the asked one."""
    out = typed("run", "tiny.toml", "--precision", "0.04", "--max-crossings", "128", "--no-pictures").out
    results = fc.open_results(yard / "tiny-results" / "results.nc")
    half = np.fmax(results["pd"] - results["pd_low"], results["pd_high"] - results["pd"]).values
    short = int(np.sum(half > 0.04))
    assert 0 < short < 6 and ((half > 0.04) & (half < 0.08)).any()
    missed = f"{short} of 6 numbers (every segment in every weather class) did not reach a half width of 0.04 at 95 %; "
    assert missed + f"the widest, {half.max():.3f}, is A " in flat(out)
    assert " in thick fog. A higher --max-crossings helps." in flat(out)
    wide = flat(typed("run", "tiny.toml", *QUICK, "--force").out)
    assert "Every segment reached a half width of 0.1 at 95 % in every weather class (6 numbers in all)." in wide


def test_seed_and_threads_are_used(yard):
    """Catches: options that are read and forgotten; a result that depends on the number of threads."""
    for folder, *options in (["a", "--threads", "1"], ["b", "--threads", "2"], ["c", "--seed", "5"]):
        assert typed("run", "tiny.toml", "-o", folder, *options, *QUICK).code == 0
    one, two, other = (fc.open_results(yard / name / "results.nc") for name in "abc")
    assert [one.attrs["seed"], other.attrs["seed"]] == [4, 5]
    assert [one.attrs["threads"], two.attrs["threads"]] == [1, 2]
    assert np.array_equal(one["pd"].values, two["pd"].values)
    assert not np.array_equal(one["pd"].values, other["pd"].values)


def test_require_exits_3_unless_every_segment_meets_the_requirement(yard):
    """Catches: a gate that lets a weak site pass, or one that meets the requirement fail."""
    ended = typed("run", "tiny.toml", "--require", "--json", *QUICK)
    assert (ended.code, json.loads(ended.out)["met"]) == (3, False)
    ended = typed("run", "tiny.toml", "--require", "--json", "--weather", "clear night", "--force", *QUICK)
    assert (ended.code, json.loads(ended.out)["met"]) == (0, True)


def test_require_asks_for_the_ceiling_of_nuisance_alarms(yard):
    """Catches: a ceiling that is read and forgotten, one that the mean alone meets. Pd meets its requirement; the ceiling lies
    between the mean and the upper end."""
    insects = '\n[[stimulus]]\nkind = "insect"\nactive = { air_temperature_c = [-50.0, 60.0] }\n'
    (yard / "tiny.toml").write_text(TINY.replace("[site]", "[requirement]\nnuisance_per_night = 3.0\n\n[site]", 1) + insects)
    ended = typed("run", "tiny.toml", "--require", "--json", "--weather", "clear night", *QUICK)
    said = json.loads(ended.out)
    assert (ended.code, said["met"], said["nuisance"]["met"]) == (3, True, "undecided"), ended
    assert said["nuisance"]["per_night"] < 3.0 < said["nuisance"]["high"]


def test_ground_that_nobody_watches_does_not_meet_the_requirement(yard):
    """Catches: --require passing a site with a section that no rule watches; NaN in the object."""
    (yard / "tiny.toml").write_text(TINY + SECOND_SECTION)
    ended = typed("run", "tiny.toml", "--require", "--json", "--weather", "clear night", *QUICK)
    said = json.loads(ended.out, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    assert (ended.code, said["met"]) == (3, False)
    assert said["classes"][0]["no_data_m"] == 8.0
    assert errors_of(ended) == ['Warning: section "river side": no rule watches it, so there is no Pd there (no data)']
    assert " no data  " in typed("run", "tiny.toml", "--force", *QUICK).out


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--threads", "0"], "threads 0 is not allowed: a whole number from 1 to 1024; type for instance 2"),
        (["--threads", "-3"], "threads -3 is not allowed: a whole number from 1 to 1024; type for instance 2"),
        (["--precision", "2"], "precision 2 is not allowed: a half width from 0.0005 to 0.5; type for instance 0.02"),
        (["--precision", "nan"], "precision nan is not allowed: a half width from 0.0005 to 0.5; type for instance 0.02"),
        (["--precision", "-0.1"], "precision -0.1 is not allowed: a half width from 0.0005 to 0.5; type for instance 0.02"),
        (["--max-crossings", "0"], "max crossings 0 is not allowed: a whole number from 16 to 8388608; type for instance 2048"),
        (["--seed", "-1"], "seed -1 is not allowed: a whole number from 0 to 9223372036854775807; type for instance 7"),
        (
            ["--weather", "thick frog"],
            'no weather class "thick frog" in this site; there are "clear night", "thick fog"; did you mean "thick fog"?',
        ),
        (["-o", "tiny.toml"], "tiny.toml exists and is not a folder; choose another folder with -o"),
    ],
)
def test_numbers_and_names_that_cannot_be_end_with_2_before_anything_runs(yard, monkeypatch, options, said):
    """Catches: a traceback, a vague message, minutes of simulation before the refusal."""
    monkeypatch.setattr(_run_module(), "run", lambda *a, **k: pytest.fail("simulated"))
    assert typed("run", "tiny.toml", *options) == (2, "", f"Error: {said}\n")
    assert os.listdir(yard) == ["tiny.toml"]


def test_a_wrong_site_file_ends_with_2_and_all_problems(yard):
    """Catches: one problem at a time, a traceback, a results folder of a wrong site."""
    (yard / "bad.toml").write_text(TINY.replace("title", "titel").replace("height_m = 4.0", "height_m = -4.0"))
    ended = typed("run", "bad.toml")
    assert (ended.code, ended.out) == (2, "")
    lines = ended.err.splitlines()
    assert lines[0] == "Error: bad.toml: 2 problems"
    assert lines[1] == '  1. titel = "Tiny yard" is not a known key: did you mean title?'
    assert lines[2].startswith('  2. camera "C1" height_m = -4.0 is not allowed: ')
    assert sorted(os.listdir(yard)) == ["bad.toml", "tiny.toml"]


def test_a_missing_site_file_ends_with_2(yard):
    assert typed("run", "yard.toml") == (2, "", "Error: yard.toml: there is no such file (there is: tiny.toml)\n")


def test_an_existing_folder_is_refused_then_forced(yard):
    """Catches: results overwritten without being asked; somebody's file removed when asked."""
    assert typed("run", "tiny.toml", *QUICK).code == 0
    (yard / "tiny-results" / "notes.txt").write_text("mine")
    before = (yard / "tiny-results" / "results.nc").read_bytes()
    ended = typed("run", "tiny.toml", *QUICK)
    assert ended == (
        2,
        "",
        "Error: tiny-results exists already; add --force to replace the files that fencecast wrote there, or choose another "
        "folder with -o\n",
    )
    assert (yard / "tiny-results" / "results.nc").read_bytes() == before
    assert typed("run", "tiny.toml", "--force", "--seed", "9", *QUICK).code == 0
    assert (yard / "tiny-results" / "results.nc").read_bytes() != before
    assert (yard / "tiny-results" / "notes.txt").read_text() == "mine"


def test_a_picture_that_fails_leaves_no_folder(yard, monkeypatch):
    """Catches: results without their pictures; a traceback instead of a line."""
    from fencecast.show import write

    def fail(results, folder):
        (folder / "plan.png").write_text("half")
        raise ValueError("the pen\nis dry")

    monkeypatch.setattr(write, "write_pictures", fail)
    ended = typed("run", "tiny.toml", "--precision", "0.1")
    assert (ended.code, ended.out) == (1, "")
    assert errors_of(ended) == ["Error: fencecast failed: ValueError: the pen is dry (FENCECAST_DEBUG=1 shows where)"]
    assert os.listdir(yard) == ["tiny.toml"]
    monkeypatch.setenv("FENCECAST_DEBUG", "1")
    ended = typed("run", "tiny.toml", "--precision", "0.1")
    assert ended.code == 1
    assert "Traceback (most recent call last):" in ended.err
    assert os.listdir(yard) == ["tiny.toml"]


def test_a_full_disk_is_a_failure_in_one_line(yard, monkeypatch):
    """Catches: a traceback, or exit code 2, when the system fails and the input was right."""
    from fencecast.estimate import store

    def fail(results, path):
        raise OSError(28, "No space left on device", str(path.name))

    monkeypatch.setattr(store, "save_results", fail)
    ended = typed("run", "tiny.toml", *QUICK)
    assert (ended.code, errors_of(ended)) == (1, ["Error: results.nc: No space left on device"])
    assert os.listdir(yard) == ["tiny.toml"]


def test_the_library_says_nothing(yard, capfd):
    """Catches: a print in a room that is not the command line's."""
    site = fc.load_site("tiny.toml")
    fc.run(site, precision=0.1)
    fc.ranges(site)
    fc.explain(site, "C1", "thick fog", 20.0)
    assert capfd.readouterr() == ("", "")


def _run_module():
    import importlib

    return importlib.import_module("fencecast.job")
