"""What tests ask of a page that is open in a browser."""

from __future__ import annotations


def sideways(page) -> float:
    """By how many pixels the page is wider than its window."""
    return page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
