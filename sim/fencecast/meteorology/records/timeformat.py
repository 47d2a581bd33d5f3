"""How times are written that cannot be read as they were announced: the format to type instead.

Tests: tests/meteorology/test_records_csv.py.
"""

from __future__ import annotations

import numpy as np

# Dates and clocks as stations and spreadsheets write them (common practice, no source).
_DATES = (
    "%Y-%m-%d",
    "%d.%m.%Y",
    "%d/%m/%Y",
    "%m/%d/%Y",
    "%d-%m-%Y",
    "%m-%d-%Y",
    "%Y/%m/%d",
    "%Y%m%d",
    "%d.%m.%y",
    "%d/%m/%y",
    "%m/%d/%y",
    "%d-%b-%Y",
    "%d %b %Y",
)
_CLOCKS = (" %H:%M", " %H:%M:%S", "T%H:%M", "T%H:%M:%S", " %I:%M %p", " %I:%M:%S %p", " %H", "%H%M", "%H")
_SAMPLE = 400
# A few rows may be no time in any format: sums, remarks.
_READS = 0.98


def likeliest_format(texts: np.ndarray) -> tuple[str, int] | None:
    """The format that reads nearly all of these texts (rows,), and how many of them; None when none of the usual ones does.

    Where two read as many (days of the month up to 12 alone), the one under which more rows follow each other by an hour.
    """
    sample = texts[np.linspace(0, len(texts) - 1, min(len(texts), _SAMPLE)).astype(int)]
    read = {form: np.count_nonzero(~np.isnat(_read(sample, form))) for form in (d + c for d in _DATES for c in _CLOCKS)}
    most = max(read.values())
    if most < _READS * len(sample):
        return None
    whole = {form: _read(texts, form) for form, count in read.items() if count == most}
    step = np.timedelta64(3600, "s")
    form = max(whole, key=lambda each: (np.count_nonzero(~np.isnat(whole[each])), np.sum(np.diff(whole[each]) == step)))
    return form, int(np.count_nonzero(~np.isnat(whole[form])))


def _read(texts: np.ndarray, form: str) -> np.ndarray:
    import pandas as pd

    return pd.to_datetime(pd.Series(texts), format=form, errors="coerce").to_numpy().astype("datetime64[s]")
