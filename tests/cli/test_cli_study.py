"""`fencecast study` as typed: what it writes and says, how it goes on, and how it ends when it is interrupted."""

import hashlib
import json
import os
import signal
import time

import psutil
import pytest
import xarray as xr
from command_line import CAUTION, errors_of, flat, started, typed
from command_line import TINY as SITE

from decide.study.study_files import TINY

PICTURES = ["study-differences.png", "study-front.png", "study-ranks.png"]


@pytest.fixture
def place(tmp_path, monkeypatch):
    """An empty folder to stand in, with a tiny study file."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "tiny.toml").write_text(TINY)
    return tmp_path


def sha(path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_a_study_writes_its_file_and_pictures_and_says_what_ranks_first(place):
    """Catches: a folder without pieces, a report without the answer; a second run that computes again or changes a byte."""
    ended = typed("study", "tiny.toml", "--workers", "1")
    assert ended.code == 0
    folder = place / "tiny-study"
    assert sorted(path.name for path in folder.iterdir()) == ["manifest.json", "pieces", *PICTURES, "study.nc"][:1] + sorted(
        ["pieces", *PICTURES, "study.nc"]
    )
    assert len(list((folder / "pieces").iterdir())) == 6
    lines = ended.out.splitlines()
    assert lines[0] == "Tiny study" and lines[1].startswith("With at most 10 cameras per yard ")
    out = flat(ended.out)
    assert "In fog" in out and "Intervals are over yards" in out and CAUTION in out and "nan" not in out
    assert any("only 3 yards: with so few, " in line for line in errors_of(ended))
    with xr.open_dataset(folder / "study.nc") as opened:
        assert set(opened.sizes) >= {"yard", "strategy", "lens", "weather", "allowance"}
        assert all(v.attrs["long_name"] for v in opened.variables.values())
    before = sha(folder / "study.nc")
    pieces = {path.name: path.stat().st_mtime_ns for path in (folder / "pieces").iterdir()}
    again = typed("study", "tiny.toml", "--workers", "1", "--json", "--no-pictures")
    assert again.code == 0 and sha(folder / "study.nc") == before
    assert {path.name: path.stat().st_mtime_ns for path in (folder / "pieces").iterdir()} == pieces
    said = json.loads(again.out)
    assert said["yards"] == 3 and said["sentence"].startswith("With at most 10 cameras per yard") and len(said["ranks"]) == 3
    assert [row["design"] for row in said["fronts"]] == ["chain", "corner pairs"] * 2
    assert not (folder / "study-front.png").exists()  # pictures of older numbers do not stay


def test_what_is_refused_leaves_nothing_behind(place):
    """Catches: a folder made for a study that cannot run; files of others that are overwritten."""
    (place / "wrong.toml").write_text(TINY.replace("crossings = 16", "crosings = 16"))
    ended = typed("study", "wrong.toml")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err == "Error: wrong.toml: crosings = 16 is not a known key: did you mean crossings?\n"
    ended = typed("study", "tiny.toml", "--workers", "0")
    assert ended.code == 2 and "workers 0 is not allowed" in ended.err
    assert sorted(path.name for path in place.iterdir()) == ["tiny.toml", "wrong.toml"]
    (place / "mine").mkdir()
    (place / "mine" / "notes.txt").write_text("mine")
    ended = typed("study", "tiny.toml", "-o", "mine")
    assert ended == (2, "", "Error: mine exists already and holds no study; choose another folder with -o\n")
    (place / "half" / "pieces").mkdir(parents=True)
    (place / "half" / "study.nc").write_text("mine")
    ended = typed("study", "tiny.toml", "-o", "half")
    assert ended.code == 2 and "half holds study.nc, which fencecast did not write" in ended.err
    ended = typed("study", "tiny.toml", "-o", "no/where")
    assert ended == (
        2,
        "",
        "Error: no/where cannot be made: no does not exist; make it first, or choose another folder with -o\n",
    )


@pytest.mark.parametrize("command", ["run", "compare", "place", "weather", "ranges"])
def test_a_study_file_where_a_site_file_is_expected(place, command):
    """Catches: a report of every key that sites do not have, where the file is right and the command is not."""
    (place / "my study.toml").write_text(TINY)
    ended = typed(command, "my study.toml")
    said = "Error: my study.toml: this is a study file (it has strategies, equal, yards), not a site file; type: "
    assert ended == (2, "", f"{said}fencecast study 'my study.toml'\n")
    assert sorted(path.name for path in place.iterdir()) == ["my study.toml", "tiny.toml"]


def test_a_site_file_where_a_study_file_is_expected(place):
    (place / "yard.toml").write_text(SITE)
    said = "yard.toml: this is a site file (it has perimeter), not a study file; type: fencecast run yard.toml, "
    assert typed("study", "yard.toml") == (2, "", f"Error: {said}or name it in a [[yard]] of a study file\n")
    (place / "yards.toml").write_text(TINY.replace("[yards]", '[[yard]]\npath = "tiny.toml"\n\n[yards]'))
    ended = typed("study", "yards.toml")
    assert ended.code == 2 and ended.err.startswith("Error: tiny.toml: this is a study file (it has ")
    assert sorted(path.name for path in place.iterdir()) == ["tiny.toml", "yard.toml", "yards.toml"]


def test_what_both_kinds_of_file_have_is_reported_key_by_key(place):
    """Catches: a file with keys of both kinds that each command sends on to the other."""
    (place / "both.toml").write_text(SITE.replace("seed = 4", 'seed = 4\nstrategies = ["chain"]'))
    for command, words in (("run", "strategies = "), ("study", "perimeter = ")):
        ended = typed(command, "both.toml")
        assert ended.code == 2 and words in ended.err and "type: fencecast" not in ended.err


def wait_for_pieces(folder, process, least: int) -> None:
    until = time.monotonic() + 120.0
    while time.monotonic() < until and process.poll() is None:
        if len(list(folder.glob("pieces/yard*.json"))) >= least:
            return
        time.sleep(0.02)
    raise AssertionError(f"ended or idle: {process.communicate(timeout=5) if process.poll() is not None else ''}")


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs POSIX signals")
def test_interrupted_and_killed_with_two_processes_it_goes_on_to_the_same_file(place):
    """Catches: another exit code than 130, half-written files, processes that stay behind, results that depend on any of it."""
    (place / "long.toml").write_text(TINY.replace("count = 3", "count = 7"))
    folder = place / "long-study"
    process = started("study", "long.toml", "--workers", "2", "--no-pictures", start_new_session=True)
    wait_for_pieces(folder, process, 2)
    children = psutil.Process(process.pid).children(recursive=True)
    os.killpg(process.pid, signal.SIGINT)  # as a terminal does: to every process of the group
    out, err = process.communicate(timeout=60)
    assert (process.returncode, out) == (130, "")
    assert err.splitlines()[-1] == "Interrupted: nothing was left half-written."
    assert "pieces are kept in long-study; the same command goes on from there." in err and "Traceback" not in err
    assert psutil.wait_procs(children, timeout=20)[1] == []
    assert [path.name for path in folder.iterdir()] == ["pieces"]
    there = len(list(folder.glob("pieces/yard*.json")))
    assert 2 <= there < 14
    process = started("study", "long.toml", "--workers", "2", "--no-pictures", start_new_session=True)
    wait_for_pieces(folder, process, there + 2)
    children = psutil.Process(process.pid).children(recursive=True)
    process.kill()
    process.communicate(timeout=60)
    assert process.returncode == -signal.SIGKILL
    assert psutil.wait_procs(children, timeout=30)[1] == []
    assert typed("study", "long.toml", "--workers", "1", "--no-pictures").code == 0
    assert typed("study", "long.toml", "--workers", "1", "--no-pictures", "-o", "whole").code == 0
    assert sha(folder / "study.nc") == sha(place / "whole" / "study.nc")
