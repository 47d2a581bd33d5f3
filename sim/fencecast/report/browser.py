"""A report as PDF: printed by an installed browser of the Chromium family, in a process of its own, without a network.

Browsers lay the page out as the reader sees it, page furniture included; so no library of this package does it a second time.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from html import unescape
from pathlib import Path
from tempfile import TemporaryDirectory, gettempdir

from fencecast.errors import FencecastError, UsageError

# Names under which systems install such a browser, the usual ones first.
BROWSERS = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "microsoft-edge-stable",
    "msedge",
    "brave-browser",
)
BY_HAND = "or open the report and print it to PDF"
LONGEST_S = 180.0
LONGEST_TEMPORARY = 50  # signs of a temporary folder whose sockets a browser can still name
_DATES = re.compile(rb"(/(?:CreationDate|ModDate) \(D:)\d{14}[+-]\d\d'\d\d'\)")
_PAGES = re.compile(rb"/Type\s*/Page(?![A-Za-z])")


@dataclass(frozen=True)
class Printed:
    """A printed report: the file's bytes, and how many pages it has."""

    content: bytes
    pages: int


def find_browser(named: str = "") -> str:
    """The path of the browser that was named, or of the first one installed; UsageError when there is none."""
    if named:
        found = shutil.which(named)
        if found is None:
            raise UsageError(f'browser "{named}" is no program that can be started; name the path of one, {BY_HAND}')
        return found
    for name in BROWSERS:
        found = shutil.which(name)
        if found is not None:
            return found
    raise UsageError(
        f"no browser was found that prints ({', '.join(BROWSERS[:3])}, ...); name one with --browser PATH, {BY_HAND}"
    )


def print_page(page: str, browser: str, created: str, longest_s: float = LONGEST_S) -> Printed:
    """Print a page of `render` as PDF.

    page: the HTML; browser: of `find_browser`; created: the results' time (ISO), which both dates of the file take, so that the
    same page from the same browser gives the same bytes. Raises FencecastError when the browser fails, prints something else or
    needs longer than `longest_s` [s]. Nothing of it stays on the disk.
    """
    with TemporaryDirectory(prefix="fencecast-", ignore_cleanup_errors=True) as folder:
        source, target = Path(folder) / "report.html", Path(folder) / "report.pdf"
        source.write_bytes(page.encode())
        said = _run(_command(browser, Path(folder) / "profile", source, target), longest_s, folder)
        try:
            content = target.read_bytes()
        except OSError:
            raise FencecastError(f"{browser} printed nothing{_last_line(said)}; name another with --browser, {BY_HAND}") from None
    if _title_of(page) not in content:
        raise FencecastError(f"{browser} printed something else than the report, as one does that may not read it; {BY_HAND}")
    return Printed(_dated(content, created), len(_PAGES.findall(content)))


def _command(browser: str, profile: Path, source: Path, target: Path) -> list[str]:
    """No first steps, no updates, no names looked up; a profile that is thrown away."""
    words = [browser, "--headless", "--disable-gpu", "--no-first-run", "--no-default-browser-check", "--disable-extensions"]
    words += ["--disable-sync", "--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage"]
    words += ["--host-resolver-rules=MAP * ~NOTFOUND", f"--user-data-dir={profile}"]
    # Its sandbox cannot be set up by the super-user; the page is this package's own, and its policy asks for nothing.
    words += ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    words += ["--no-pdf-header-footer", "--generate-pdf-document-outline", f"--print-to-pdf={target}"]
    return [*words, source.as_uri()]


def _run(command: list[str], longest_s: float, folder: str) -> str:
    """Run to the end and return what was said; whatever ends this early ends the browser's processes too."""
    try:
        with _ended(subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL,
                                     cwd=folder, start_new_session=True, env=_surroundings())) as process:  # fmt: skip
            _, said = process.communicate(timeout=longest_s)
    except OSError as error:
        raise UsageError(f"{command[0]} cannot be started: {error.strerror or error}; {BY_HAND}") from None
    except subprocess.TimeoutExpired:
        raise FencecastError(f"{command[0]} was not done after {longest_s:g} s; name another with --browser, {BY_HAND}") from None
    return said.decode("utf-8", "replace")


def _surroundings() -> dict[str, str]:
    """The environment, with a short folder for temporary files: the browser makes a socket in it, and the path of a socket has
    about 100 signs at most; with a longer one it ends without a word and without a file."""
    short = Path("/tmp")
    named = os.environ.get("TMPDIR") or gettempdir()
    if os.name == "posix" and len(named) > LONGEST_TEMPORARY and os.access(short, os.W_OK):
        return {**os.environ, "TMPDIR": str(short)}
    return dict(os.environ)


@contextmanager
def _ended(process: subprocess.Popen) -> Iterator[subprocess.Popen]:
    try:
        yield process
    finally:
        with suppress(OSError):  # its children are in its group, and some outlive it
            if hasattr(os, "killpg"):
                os.killpg(process.pid, signal.SIGKILL)
            else:
                process.kill()
        process.wait()
        if process.stderr is not None:
            process.stderr.close()


def _last_line(said: str) -> str:
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    return f" and said: {lines[-1][:200]}" if lines else ""


def _dated(content: bytes, created: str) -> bytes:
    """The file with both dates set to `created`, at equal length: offsets inside it stay true."""
    when = datetime.fromisoformat(created.replace("Z", "+00:00"))
    when = when.astimezone(UTC) if when.tzinfo else when
    return _DATES.sub(lambda found: found[1] + f"{when:%Y%m%d%H%M%S}+00'00')".encode(), content)


def _title_of(page: str) -> bytes:
    """The page's title as a PDF holds one that is not all ASCII; every report's has a middle dot."""
    title = unescape(page.partition("<title>")[2].partition("</title>")[0])
    shown = " ".join(part for part in re.split("[ \t\n\f\r]+", title) if part)  # as a page's title is told
    return b"FEFF" + shown.encode("utf-16-be").hex().upper().encode()
