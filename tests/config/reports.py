"""The site file that rejections start from, and the report that a text ends in."""

from pathlib import Path

import pytest

from fencecast.errors import InputError
from fencecast.site import parse_site

BASE = (Path(__file__).parent / "base.toml").read_text(encoding="utf-8")


def report_of(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse_site(text, "yard.toml")
    return str(caught.value)
