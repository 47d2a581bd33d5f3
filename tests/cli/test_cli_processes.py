"""Commands in processes of their own: signals, pipes, and what a terminal sees."""

import json
import os
import pty
import re
import select
import signal
import subprocess
import sys
import time

import pytest
from command_line import QUICK, TINY, hear_interrupts, started

ENDLESS = ("--precision", "0.0005", "--max-crossings", str(2**23))


def wait_for_line(process, words: str) -> None:
    """Read standard error until a line holds the words."""
    for line in process.stderr:
        if words in line:
            return
    raise AssertionError(f"never said {words!r}")


@pytest.fixture
def wavering(yard):
    """The tiny site with a fog in which Pd lies in between, so that the precision is out of reach."""
    (yard / "tiny.toml").write_text(
        TINY.replace("visibility_m = 12.0", 'visibility_m = { dist = "uniform", low = 10.0, high = 60.0 }')
    )
    return yard


@pytest.mark.parametrize(
    ("number", "code", "said"),
    [
        (signal.SIGINT, 130, "Interrupted: nothing was left half-written."),
        (signal.SIGTERM, 143, "Stopped: nothing was left half-written."),
    ],
)
def test_an_interrupt_leaves_nothing(wavering, number, code, said):
    """Catches: half a folder, a hidden one, a traceback, another exit code; a run that does not hear the interrupt."""
    process = started("run", "tiny.toml", *ENDLESS)
    try:
        wait_for_line(process, "Simulating crossings ...")
        time.sleep(0.5)
        assert [name for name in os.listdir(wavering) if name != "tiny.toml"], "the folder is made before the simulation"
        process.send_signal(number)
        out, err = process.communicate(timeout=20)
    finally:
        process.kill()
    assert (process.returncode, out) == (code, "")
    assert [line for line in err.splitlines() if not line.endswith(" ...")] == [said]
    assert os.listdir(wavering) == ["tiny.toml"]


def test_json_goes_through_a_pipe(yard):
    """Catches: a second thing on standard output, a line that is no JSON; warnings and progress belong to standard error."""
    run = started("run", "tiny.toml", "--json", *QUICK)
    tool = subprocess.run([sys.executable, "-m", "json.tool"], stdin=run.stdout, capture_output=True, text=True)
    run.stdout.close()
    run.stderr.close()
    assert (run.wait(), tool.returncode) == (0, 0)
    assert json.loads(tool.stdout)["title"] == "Tiny yard"


def test_a_reader_that_goes_is_no_error(yard):
    """Catches: `| head` ending in a traceback or an exit code."""
    process = started("ranges", "tiny.toml")
    process.stdout.close()
    assert process.stderr.read() == ""
    assert process.wait() == 0


def test_a_reader_that_goes_keeps_the_verdict(yard):
    """Catches: --require passing because nobody read the tables."""
    process = started("run", "tiny.toml", "--require", *QUICK)
    process.stdout.close()
    process.stderr.read()
    assert process.wait() == 3


def test_letters_that_a_terminal_cannot_show_are_no_error(yard):
    """Catches: UnicodeEncodeError on an old terminal."""
    environment = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    out, err = started("run", "tiny.toml", "--json", *QUICK, env=environment).communicate()
    place = json.loads(out)["weakest"]["place"]
    assert place == "A 0–12 m"
    look = ("--camera", "C1", "--weather", "thick fog", "--distance", "20")
    process = started("explain", "tiny.toml", *look, env=environment)
    out, err = process.communicate()
    assert (process.returncode, err) == (0, "")
    assert "torso above the ground" in out and "g/m?" in out


def test_a_terminal_sees_a_bar_with_the_time_left(wavering):
    """Catches: no bar, or one without the time left; a cursor that stays hidden."""
    leader, follower = pty.openpty()
    command = [sys.executable, "-m", "fencecast", "run", "tiny.toml", *ENDLESS]
    environment = {**os.environ, "TERM": "xterm", "COLUMNS": "100"}
    process = subprocess.Popen(
        command, stdin=follower, stdout=follower, stderr=follower, env=environment, preexec_fn=hear_interrupts
    )
    os.close(follower)
    seen, sent = b"", False
    deadline = time.monotonic() + 90
    try:
        while time.monotonic() < deadline:
            if not select.select([leader], [], [], 1.0)[0]:
                continue
            try:
                part = os.read(leader, 65536)
            except OSError:  # the other end has closed
                break
            seen += part
            if not sent and re.search(rb"Simulating crossings [^\r]*\d:\d\d:\d\d[^\r]*left", seen):
                process.send_signal(signal.SIGINT)
                sent = True
    finally:
        process.kill()
        os.close(leader)
    assert sent, seen[-500:]
    assert process.wait() == 130
    assert b"\x1b[?25h" in seen[seen.rfind(b"\x1b[?25l") :], "the cursor is shown again"
    assert b"Interrupted: nothing was left half-written." in seen
