"""`report --pdf`: what a browser prints, whole or not at all, and the command around it."""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

import fencecast as fc
from cli.command_line import CAUTION, hear_interrupts, typed
from fencecast.errors import FencecastError, UsageError
from fencecast.report.browser import find_browser, print_page
from show import invented_results

CREATED = "2026-11-14T10:00:00Z"


@pytest.fixture
def yard(tmp_path, monkeypatch):
    """An empty folder to stand in, with invented results in yard.nc."""
    monkeypatch.chdir(tmp_path)
    fc.save_results(invented_results.yard(), tmp_path / "yard.nc")
    return tmp_path


def false_browser(folder: Path, *lines: str) -> str:
    """A program that is called as a browser is; `$pdf` is where it should print to, `$page` what."""
    path = folder / "false-browser"
    head = [
        "#!/bin/sh",
        'for each; do case "$each" in --print-to-pdf=*) pdf="${each#*=}";; file:*) page="${each#file://}";; esac; done',
    ]
    path.write_text("\n".join([*head, *lines]) + "\n")
    path.chmod(path.stat().st_mode | stat.S_IEXEC)
    return str(path)


def text_of_pdf(content: bytes) -> list[str]:
    from pypdf import PdfReader

    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages]


@pytest.mark.parametrize("edition", ["full", "client"])
def test_a_printed_report_has_its_furniture_on_every_page(edition, browser_path):
    """Catches: pages without edition, number or caution; another paper; page 1 without the verdict."""
    from pypdf import PdfReader

    page = fc.report(invented_results.large(fresh=True), edition)
    printed = print_page(page, browser_path, CREATED)
    reader = PdfReader(io.BytesIO(printed.content))
    assert printed.pages == len(reader.pages)
    texts = text_of_pdf(printed.content)
    for k, text in enumerate(texts, start=1):
        assert f"{k} of {len(texts)}" in text and f"{edition.upper()} EDITION, issue 1" in text, k
        assert CAUTION in text, k
    assert "Requirement not met: 559 m of 1,053 m weak in warm dusk" in texts[0] and CAUTION in texts[0]
    assert "Confidential: " in texts[0]
    for each in reader.pages:
        assert [float(side) for side in each.mediabox[2:]] == pytest.approx([595, 842], abs=1.5)  # A4 in points
    assert reader.outline


def test_the_same_page_is_the_same_file(browser_path, monkeypatch, tmp_path):
    """Catches: dates of the clock, a name of a temporary folder, another time zone."""
    page = fc.report(invented_results.yard(), "client")
    first = print_page(page, browser_path, CREATED).content
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    time.sleep(1.1)  # dates in the file have whole seconds
    assert print_page(page, browser_path, CREATED).content == first
    assert first.count(b"(D:20261114100000+00'00')") == 2
    assert not list(tmp_path.iterdir())


def test_a_long_temporary_folder_is_no_reason_not_to_print(browser_path, monkeypatch, tmp_path):
    """Catches: a browser that makes a socket in a folder whose path is too long for one; it ends well and prints nothing."""
    folder = tmp_path / ("a" * 100)
    folder.mkdir()
    monkeypatch.setenv("TMPDIR", str(folder))
    assert print_page(fc.report(invented_results.yard(), "client"), browser_path, CREATED).pages >= 2


def test_client_pdf_holds_no_name(browser_path):
    page = fc.report(invented_results.yard(), "client")
    printed = print_page(page, browser_path, CREATED)
    text = " ".join(text_of_pdf(printed.content))
    for name in ("West fence", "North fence", "Quay edge", "Gate", "Workshop", "Site office", "C1"):
        assert not re.search(rf"\b{name}\b", text), name
    assert b"fence.html" not in printed.content and b"/tmp" not in printed.content


def test_the_command_writes_both_and_says_what(yard, browser_path):
    """Catches: a hash of something else, a second run that overwrites, pages that are miscounted."""
    ended = typed("report", "yard.nc", "--edition", "client", "--pdf", "--json")
    assert ended.code == 0
    said = json.loads(ended.out)
    page, pdf = Path("yard-report-CLIENT.html"), Path("yard-report-CLIENT.pdf")
    assert sorted(os.listdir(yard)) == ["yard-report-CLIENT.html", "yard-report-CLIENT.pdf", "yard.nc"]
    assert (said["file"], said["bytes"]) == (str(page), page.stat().st_size)
    assert said["sha256"] == hashlib.sha256(page.read_bytes()).hexdigest()
    assert said["pdf"]["sha256"] == hashlib.sha256(pdf.read_bytes()).hexdigest()
    assert said["pages"] == len(text_of_pdf(pdf.read_bytes())) and said["edition"] == "client" and said["met"] is False
    assert said["caution"] == CAUTION
    again = typed("report", "yard.nc", "--edition", "client", "--pdf")
    assert (again.code, again.out) == (2, "") and "yard-report-CLIENT.html exists already; type --force" in again.err
    page.unlink()
    again = typed("report", "yard.nc", "--edition", "client", "--pdf")
    assert again.code == 2 and "yard-report-CLIENT.pdf exists already; type --force" in again.err and not page.exists()
    told = typed("report", "yard.nc", "--edition", "client", "--pdf", "--force")
    assert told.code == 0
    assert told.out.splitlines() == [
        f"Written: {page}, {page.stat().st_size / 1000:.0f} kB",
        f"SHA-256: {said['sha256']}",
        f"Written: {pdf}, {pdf.stat().st_size / 1000:.0f} kB, {said['pages']} pages",
        f"SHA-256: {said['pdf']['sha256']}",
        "It leaves out places, cameras and schedules.",
    ]


def test_without_a_browser_nothing_is_written(yard, monkeypatch):
    """Catches: a page without its print, a traceback, another exit code."""
    monkeypatch.setenv("PATH", str(yard))
    ended = typed("report", "yard.nc", "--pdf")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith("Error: no browser was found that prints (chromium, ")
    assert ended.err.endswith("name one with --browser PATH, or open the report and print it to PDF\n")
    assert os.listdir(yard) == ["yard.nc"]
    ended = typed("report", "yard.nc", "--pdf", "--browser", "nowhere")
    assert ended.code == 2 and 'browser "nowhere" is no program that can be started' in ended.err
    ended = typed("report", "yard.nc", "--browser", "nowhere")
    assert ended.code == 2 and "--browser nowhere prints nothing without --pdf" in ended.err
    with pytest.raises(UsageError):
        find_browser("")


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (["echo cannot open display >&2", "exit 1"], "printed nothing and said: cannot open display"),
        (["printf '%%PDF-1.4 (Access denied)' > $pdf"], "printed something else than the report"),
        (["exec /nowhere/at/all"], "printed nothing"),
    ],
)
def test_a_browser_that_fails_says_so_and_leaves_nothing(yard, monkeypatch, lines, said):
    """Catches: an error page taken for the report, half of a pair of files, a folder left behind."""
    monkeypatch.setenv("TMPDIR", str(yard / "tmp"))
    (yard / "tmp").mkdir()
    ended = typed("report", "yard.nc", "--pdf", "--browser", false_browser(yard, *lines))
    assert (ended.code, ended.out) == (1, "") and said in " ".join(ended.err.split())
    assert sorted(os.listdir(yard)) == ["false-browser", "tmp", "yard.nc"] and not os.listdir(yard / "tmp")


def test_a_browser_that_hangs_is_ended_with_its_children(yard):
    """Catches: processes that stay, a command that never ends."""
    browser = false_browser(yard, f"sh -c 'echo $$ > {yard}/child; sleep 600' &", "sleep 600")
    start = time.monotonic()
    with pytest.raises(FencecastError, match="not done after 2 s"):
        print_page("<title>a · b</title>", browser, CREATED, longest_s=2.0)
    assert time.monotonic() - start < 30
    assert gone(int((yard / "child").read_text()))


def gone(number: int) -> bool:
    """Whether a process has ended within two seconds (its place may be kept until somebody asks for its end)."""
    for _ in range(40):
        try:
            os.kill(number, 0)
            if " Z " in Path(f"/proc/{number}/stat").read_text():
                return True
        except (ProcessLookupError, FileNotFoundError):
            return True
        time.sleep(0.05)
    return False


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupt_leaves_nothing(yard, number):
    """Catches: a page without its print, a hidden part, a browser that goes on."""
    (yard / "tmp").mkdir()
    browser = false_browser(yard, f"echo $$ > {yard}/number", "sleep 600")
    process = subprocess.Popen(
        [sys.executable, "-m", "fencecast", "report", "yard.nc", "--pdf", "--browser", browser],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ | {"TMPDIR": str(yard / "tmp")},
        preexec_fn=hear_interrupts,
    )
    for _ in range(1200):
        assert process.poll() is None, process.communicate()
        if (yard / "number").exists() and (yard / "number").read_text().strip():
            break
        time.sleep(0.1)
    browser_number = int((yard / "number").read_text())
    process.send_signal(number)
    out, err = process.communicate(timeout=60)
    assert process.returncode == {signal.SIGINT: 130, signal.SIGTERM: 143}[number] and out == ""
    assert "nothing was left half-written" in err
    assert sorted(os.listdir(yard)) == ["false-browser", "number", "tmp", "yard.nc"] and not os.listdir(yard / "tmp")
    assert gone(browser_number)


def test_two_files_are_both_new_or_both_as_before(yard, monkeypatch):
    """Catches: a new page beside the print of an older one."""
    from fencecast.cli import onefile

    page, pdf = Path("a.html"), Path("a.pdf")
    page.write_text("old page")
    pdf.write_text("old print")
    moved = os.replace
    calls = []

    def failing(source, target):
        calls.append(target)
        if str(target).endswith("a.pdf") and len(calls) == 2:
            raise OSError(28, "No space left on device")
        moved(source, target)

    monkeypatch.setattr(onefile.os, "replace", failing)
    with pytest.raises(UsageError, match=r"a\.pdf cannot be written: No space left on device"):
        onefile.write_files({page: b"new page", pdf: b"new print"})
    assert (page.read_text(), pdf.read_text()) == ("old page", "old print")
    assert sorted(os.listdir(yard)) == ["a.html", "a.pdf", "yard.nc"]
    page.unlink()
    calls.clear()
    with pytest.raises(UsageError):
        onefile.write_files({page: b"new page", pdf: b"new print"})
    assert not page.exists() and pdf.read_text() == "old print"
    monkeypatch.setattr(onefile.os, "replace", moved)
    onefile.write_files({page: b"new page", pdf: b"new print"})
    assert (page.read_bytes(), pdf.read_bytes()) == (b"new page", b"new print")
    assert sorted(os.listdir(yard)) == ["a.html", "a.pdf", "yard.nc"]


def test_a_print_of_before_is_warned_of(yard):
    Path("yard-report-FULL.pdf").write_text("old")
    ended = typed("report", "yard.nc")
    assert ended.code == 0
    assert "Warning: yard-report-FULL.pdf is not of this report" in ended.err
    assert Path("yard-report-FULL.pdf").read_text() == "old"


def test_the_client_edition_of_one_section_is_warned_of(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    fc.save_results(invented_results.one_camera(), tmp_path / "lane.nc")
    ended = typed("report", "lane.nc", "--edition", "client")
    assert ended.code == 0
    assert ended.err.splitlines()[0] == "Warning: one section: the client edition tells where by telling how much"
    assert typed("report", "lane.nc").err == ""


def test_a_place_that_is_open_in_every_weather_is_warned_of(yard):
    """For the client edition alone: the full edition's reader must know the place."""
    ended = typed("report", "yard.nc", "--edition", "client")
    assert ended.code == 0
    assert ended.err.startswith("Warning: a place is weak in every kind of weather (lowest Pd <0.01 to ")
    assert ended.err.endswith("): hand the client edition out after it is mended\n")
    assert typed("report", "yard.nc").err == ""


def test_the_same_page_wherever_it_is_made(yard, monkeypatch):
    """Catches: the clock, a path, a user, a time zone in the page."""
    first = fc.report("yard.nc", "client"), fc.report("yard.nc", "full")
    (yard / "elsewhere").mkdir()
    (yard / "yard.nc").rename(yard / "elsewhere" / "other.nc")
    monkeypatch.chdir(yard / "elsewhere")
    for name, value in (("TZ", "Pacific/Auckland"), ("USER", "somebody"), ("HOME", str(yard)), ("LC_ALL", "C")):
        monkeypatch.setenv(name, value)
    time.tzset()
    assert (fc.report("other.nc", "client"), fc.report("other.nc", "full")) == first
