"""Results folders: whole or not at all, and nobody else's files are touched. No simulation here."""

import hashlib
import json
import os
import shutil
import signal
import sys
from pathlib import Path

import pytest

from fencecast.cli.folder import MANIFEST, OutputFolder, whole_file
from fencecast.cli.onefile import picture_file
from fencecast.errors import UsageError

NAMES = ("results.nc", "plan.png")


def fill(folder: Path, **texts: str) -> None:
    for name, text in texts.items():
        (folder / name.replace("_", ".")).write_text(text)


def write(path, names=NAMES, force=False, keep_others=False, **texts: str) -> OutputFolder:
    folder = OutputFolder(path, names, replace=force, keep_others=keep_others)
    with folder as staging:
        fill(staging, **texts)
    return folder


def content(folder: Path) -> dict[str, str]:
    return {each.name: each.read_text() for each in folder.iterdir() if each.name != MANIFEST}


def refused(path, force=False, names=NAMES) -> str:
    with pytest.raises(UsageError) as caught, OutputFolder(path, names, replace=force):
        raise AssertionError("the block was entered")
    return str(caught.value)


def test_a_new_folder_appears_with_a_manifest(yard):
    """Catches: files that differ from what the manifest says, a folder that only its maker may read."""
    os.umask(0o022)
    folder = write("out", results_nc="1", plan_png="2")
    assert folder.files == ["out/results.nc", "out/plan.png", "out/manifest.json"]
    assert content(yard / "out") == {"results.nc": "1", "plan.png": "2"}
    listed = json.loads((yard / "out" / MANIFEST).read_text())
    assert listed["written_by"].startswith("fencecast ")
    assert listed["files"] == {name: hashlib.sha256(text.encode()).hexdigest() for name, text in content(yard / "out").items()}
    assert (yard / "out").stat().st_mode & 0o777 == 0o755


@pytest.mark.parametrize("error", [RuntimeError, KeyboardInterrupt])
def test_a_block_that_fails_leaves_nothing(yard, error):
    """Catches: half a folder, or a hidden one, after a failure or an interrupt."""
    with pytest.raises(error), OutputFolder("out", NAMES, replace=False) as staging:
        fill(staging, results_nc="half")
        raise error
    assert os.listdir(yard) == ["tiny.toml"]


def test_an_existing_folder_is_refused_without_force(yard):
    (yard / "out").mkdir()
    assert refused("out") == (
        "out exists already; add --force to replace the files that fencecast wrote there, or choose another folder with -o"
    )
    assert os.listdir(yard / "out") == []


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("tiny.toml", "tiny.toml exists and is not a folder; choose another folder with -o"),
        ("tiny.toml/out", "tiny.toml/out cannot be made: tiny.toml is not a folder; choose another folder with -o"),
        ("a/b", "a/b cannot be made: a does not exist; make it first, or choose another folder with -o"),
    ],
)
@pytest.mark.parametrize("force", [False, True])
def test_a_place_that_cannot_be_is_refused(yard, path, said, force):
    """Catches: a traceback, or a simulation that runs before its folder turns out to be impossible."""
    assert refused(path, force) == said
    assert os.listdir(yard) == ["tiny.toml"]


def test_a_name_that_no_file_can_have_is_refused(yard):
    """Catches: a traceback for a zero byte, or for a name that is too long."""
    assert refused("a\0b").startswith("a\0b cannot be written: ")
    assert refused("x" * 300).endswith(" cannot be written: File name too long; choose another folder with -o")


def test_a_folder_without_write_access_is_refused(yard, monkeypatch):
    """Catches: a traceback. The system's refusal is put in its mouth, because the administrator may write everywhere."""

    def deny(path, *rest, **more):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "mkdir", deny)
    assert refused("out") == "out cannot be written: Permission denied; choose another folder with -o"


def test_force_replaces_what_fencecast_wrote_and_nothing_else(yard):
    """Catches: losing the user's notes; an old picture beside new numbers."""
    write("out", results_nc="old", plan_png="old")
    fill(yard / "out", notes_txt="mine")
    (yard / "out" / "sub").mkdir()
    fill(yard / "out" / "sub", plan_png="also mine")
    write("out", names=("results.nc",), force=True, results_nc="new")
    assert sorted(os.listdir(yard / "out")) == [MANIFEST, "notes.txt", "results.nc", "sub"]
    assert (yard / "out" / "results.nc").read_text() == "new"
    assert (yard / "out" / "notes.txt").read_text() == "mine"
    assert (yard / "out" / "sub" / "plan.png").read_text() == "also mine"


def test_what_the_user_changed_stays_and_is_named(yard, capsys):
    """Catches: overwriting or removing a picture that the user has drawn on."""
    write("out", results_nc="old", plan_png="old")
    fill(yard / "out", plan_png="drawn on")
    assert refused("out", force=True) == (
        "out holds plan.png, which fencecast did not write or which changed since; move or rename it, or choose another folder "
        "with -o"
    )
    folder = write("out", names=("results.nc",), force=True, results_nc="new")
    assert folder.left == ["plan.png"]
    folder.warn_left()
    assert "plan.png changed since fencecast wrote it: left as it is" in capsys.readouterr().err
    assert content(yard / "out") == {"results.nc": "new", "plan.png": "drawn on"}


def test_force_does_not_take_over_files_of_the_same_name(yard):
    """Catches: replacing a file because of its name alone: here no manifest says that fencecast wrote it."""
    (yard / "out").mkdir()
    fill(yard / "out", plan_png="mine", results_nc="mine", manifest_json="{}")
    assert refused("out", force=True) == (
        "out holds results.nc, plan.png, manifest.json, which fencecast did not write or which changed since; move or rename "
        "them, or choose another folder with -o"
    )


def test_a_manifest_cannot_point_out_of_its_folder(yard):
    """Catches: --force removing a file elsewhere because a (foreign) manifest lists ../name."""
    (yard / "out").mkdir()
    fill(yard, victim_txt="x")
    digest = hashlib.sha256(b"x").hexdigest()
    (yard / "out" / MANIFEST).write_text(json.dumps({"written_by": "fencecast 0", "files": {"../victim.txt": digest}}))
    assert "holds manifest.json" in refused("out", force=True)
    assert (yard / "victim.txt").read_text() == "x"


def test_a_link_in_place_of_a_file_is_the_user_s(yard):
    """Catches: replacing what a link of the same content stands for."""
    write("out", results_nc="1", plan_png="2")
    (yard / "out" / "plan.png").rename(yard / "elsewhere.png")
    (yard / "out" / "plan.png").symlink_to(yard / "elsewhere.png")
    assert "holds plan.png" in refused("out", force=True)


def test_a_move_that_fails_is_taken_back(yard, monkeypatch):
    """Catches: a folder with half of the old and half of the new files when the disk fails between two moves."""
    write("out", results_nc="old", plan_png="old")
    real, moves = Path.rename, []

    def rename(path, target):
        moves.append(path.name)
        if len(moves) == 4:  # two old files went out, one new file came in
            raise OSError(5, "Input/output error")
        return real(path, target)

    monkeypatch.setattr(Path, "rename", rename)
    with pytest.raises(OSError, match="Input/output error"):
        write("out", force=True, results_nc="new", plan_png="new")
    assert content(yard / "out") == {"results.nc": "old", "plan.png": "old"}
    assert sorted(os.listdir(yard / "out")) == [MANIFEST, "plan.png", "results.nc"]
    write("out", force=True, results_nc="3", plan_png="3")  # the manifest fits again, too


# What changes a disk, as Python's own audit names it; opening counts when it is for writing.
CHANGES = ("os.rename", "os.remove", "os.rmdir", "os.mkdir", "open")


def killed_at(step: int, work) -> bool:
    """Do the work in a child that is killed just before its step-th change of the disk; False when it came to its end first."""
    child = os.fork()
    if child == 0:
        left = step

        def before_each(event, arguments):
            nonlocal left
            if event not in CHANGES or (event == "open" and not (isinstance(arguments[2], int) and arguments[2] & 3)):
                return
            left -= 1
            if left == 0:
                os.kill(os.getpid(), signal.SIGKILL)

        try:
            sys.addaudithook(before_each)
            work()
        finally:
            os._exit(0)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


@pytest.mark.parametrize("existed", [True, False])
def test_a_kill_at_any_step_leaves_what_force_accepts(yard, existed):
    """Catches: a folder that --force refuses after a kill between two moves (no manifest, or one that does not know a file that
    is there); old and new files side by side; hidden folders and locks that stay for ever; the user's own file touched.
    Seen: with the manifest taken out before the moves, --force refuses the folder."""
    step = 0
    while True:
        step += 1
        shutil.rmtree(yard / "out", ignore_errors=True)
        if existed:
            write("out", results_nc="old", plan_png="old")
            fill(yard / "out", notes_txt="mine")

        def replace():
            write("out", force=True, results_nc="new", plan_png="new")

        if not killed_at(step, replace):
            break
        if (yard / "out").exists():
            there = {text for name, text in content_of_files(yard / "out").items() if name != "notes.txt"}
            assert there in (set(), {"old"}, {"new"}), step
        replace()
        assert content_of_files(yard / "out") == {"results.nc": "new", "plan.png": "new"} | (
            {"notes.txt": "mine"} if existed else {}
        ), step
        assert not [name for folder in (yard, yard / "out") for name in os.listdir(folder) if name.startswith(".")], step
    assert step > (15 if existed else 6)


def content_of_files(folder: Path) -> dict[str, str]:
    """Texts of what a user sees there, without the manifest and the hidden parts."""
    names = [name for name in os.listdir(folder) if not name.startswith(".") and name != MANIFEST]
    return {name: (folder / name).read_text() for name in names}


def test_the_parts_of_a_living_process_stay(yard):
    """Catches: a second run that removes what the first one is writing; one that mistakes a user's hidden folder for its own."""
    (yard / ".notes.part").mkdir()
    with OutputFolder("out", NAMES, replace=False) as staging:
        fill(staging, results_nc="1")
        child = os.fork()
        if child == 0:
            try:
                write("other", results_nc="2")
                os._exit(0)
            finally:
                os._exit(1)
        assert os.waitpid(child, 0)[1] == 0
        assert (staging / "results.nc").read_text() == "1"
    assert content(yard / "out") == {"results.nc": "1"}
    assert content(yard / "other") == {"results.nc": "2"}
    assert sorted(os.listdir(yard)) == [".notes.part", "other", "out", "tiny.toml"]


def test_a_killed_picture_leaves_nothing_for_ever(yard):
    """Catches: hidden pictures beside the one that was asked for, one more with every kill."""

    def draw():
        with whole_file(yard / "look.png") as part:
            part.write_text("new")

    step = 1
    while killed_at(step, draw):
        draw()
        assert sorted(os.listdir(yard)) == ["look.png", "tiny.toml"], step
        step += 1
    assert step > 4


def test_a_folder_that_appears_meanwhile_is_not_touched(yard):
    """Catches: mixing into a folder that somebody made while the simulation ran."""
    with pytest.raises(UsageError) as caught, OutputFolder("out", NAMES, replace=False) as staging:
        fill(staging, results_nc="1")
        (yard / "out").mkdir()
    assert str(caught.value) == (
        "out was made by someone else meanwhile; nothing was written there; choose another folder with -o"
    )
    assert sorted(os.listdir(yard)) == ["out", "tiny.toml"]
    assert os.listdir(yard / "out") == []


def test_drawing_again_keeps_the_results(yard):
    """Catches: `plot` removing results.nc beside which it draws, or forgetting it in the manifest."""
    write("out", results_nc="1", plan_png="2")
    write("out", names=("plan.png",), force=True, keep_others=True, plan_png="3")
    assert content(yard / "out") == {"results.nc": "1", "plan.png": "3"}
    write("out", force=True, results_nc="4", plan_png="5")
    assert content(yard / "out") == {"results.nc": "4", "plan.png": "5"}


def test_a_picture_takes_its_place_only_when_whole(yard):
    """Catches: a torn picture, a lost old one, a link that turns into a file."""
    path = yard / "look.png"
    path.write_text("old")
    with pytest.raises(RuntimeError), whole_file(path) as part:
        part.write_text("half")
        raise RuntimeError
    assert path.read_text() == "old"
    link = yard / "link.png"
    link.symlink_to(path)
    with whole_file(link) as part:
        part.write_text("new")
    assert path.read_text() == "new"
    assert link.is_symlink()
    assert sorted(os.listdir(yard)) == ["link.png", "look.png", "tiny.toml"]


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("look.pdf", "look.pdf: a picture's name ends in .png; type for instance -o look.png"),
        ("look", "look: a picture's name ends in .png; type for instance -o look.png"),
        ("tiny.toml", "tiny.toml: a picture's name ends in .png; type for instance -o tiny.png"),
        ("a/look.png", "a/look.png cannot be written: a does not exist; make it first"),
        ("tiny.toml/look.png", "tiny.toml/look.png cannot be written: tiny.toml is not a folder"),
        ("folder.png", "folder.png is a folder; name a file that ends in .png"),
    ],
)
def test_a_picture_s_name_is_checked_first(yard, path, said):
    """Catches: overwriting the site file with a picture; a failure after the work instead of before it."""
    (yard / "folder.png").mkdir()
    with pytest.raises(UsageError) as caught:
        picture_file(path)
    assert str(caught.value) == said
