"""Results to make reports of, and a real browser to look at them with.

The browser is an installed one of the Chromium family; without one these tests skip and say so, except where
FENCECAST_TEST_BROWSER=required (as in .ci/run), where they fail.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from importlib.resources import files
from typing import Any

import pytest

EXAMPLES = files("fencecast") / "examples"
PRECISION, MOST_CROSSINGS = 0.2, 64  # no test asks whether a number is a good one


@pytest.fixture(scope="session")
def demo_results():
    """The estuary yard: four sections, seven cameras, six classes, every loss of what cameras depend on. Read only."""
    import fencecast as fc

    results = fc.run(str(EXAMPLES / "estuary-yard.toml"), precision=PRECISION, max_crossings=MOST_CROSSINGS)
    return fc.lose_each(results, "depends_on", max_crossings=MOST_CROSSINGS)


@pytest.fixture(scope="session")
def depot_results():
    """The marsh depot, with a year of hourly weather. Read only."""
    import fencecast as fc

    return fc.run(str(EXAMPLES / "marsh-depot.toml"), precision=PRECISION, max_crossings=MOST_CROSSINGS)


@pytest.fixture(scope="session")
def mast_results():
    """One section with a gap under its mast. Read only."""
    import fencecast as fc

    return fc.run(str(EXAMPLES / "gap-under-mast.toml"), precision=PRECISION, max_crossings=MOST_CROSSINGS)


@dataclass
class Told:
    """What a page did beside being shown: lines on the console, addresses it asked for, errors, dialogs."""

    console: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    dialogs: list[str] = field(default_factory=list)

    def nothing(self) -> bool:
        return not (self.console or self.asked or self.errors or self.dialogs)


def no_browser(reason: str) -> None:
    """Skip, or fail where a browser is promised."""
    if os.environ.get("FENCECAST_TEST_BROWSER") == "required":
        pytest.fail(f"a browser is required here: {reason}")
    pytest.skip(reason)


@pytest.fixture(scope="session")
def browser_path() -> str:
    """The installed browser that reports are printed with."""
    from fencecast.errors import UsageError
    from fencecast.report.browser import find_browser

    try:
        return find_browser(os.environ.get("FENCECAST_TEST_BROWSER_PATH", ""))
    except UsageError as error:
        no_browser(f"no installed browser: {error}")
        raise AssertionError from None


@pytest.fixture(scope="session")
def chromium(browser_path):
    """The browser under playwright's control, without a screen."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        no_browser("playwright is not installed")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=browser_path, args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
        )
        yield started
        started.close()


@pytest.fixture
def page_of(chromium, tmp_path):
    """`page_of(html, width=1280, height=900, script=True)`: the page as it is opened from a file, without a network.

    What it does beside that is in `page.told` (`Told`); other keywords go to `new_context`, such as forced_colors="active".
    """
    contexts: list[Any] = []

    def opened(html: str, width: int = 1280, height: int = 900, script: bool = True, **more: Any) -> Any:
        file = tmp_path / f"page-{len(contexts)}.html"
        file.write_bytes(html.encode())
        context = chromium.new_context(
            viewport={"width": width, "height": height}, offline=True, java_script_enabled=script, **more
        )
        contexts.append(context)
        page = context.new_page()
        told = page.told = Told()
        page.on("console", lambda line: told.console.append(line.text))
        page.on("pageerror", lambda error: told.errors.append(str(error)))
        page.on("dialog", lambda dialog: (told.dialogs.append(dialog.message), dialog.dismiss()))
        page.on("request", lambda request: told.asked.append(request.url) if request.url != file.as_uri() else None)
        page.goto(file.as_uri())
        return page

    yield opened
    for context in contexts:
        context.close()
