"""The table of planted faults: `cd tests && python -m planted.table`: fault, place, Pd, what is expected, what is said."""

from __future__ import annotations

import numpy as np

from planted.expected import Expected
from planted.faults import FAULTS
from planted.runs import about, inside, misses, results_of, said


def rows() -> list[tuple[str, str, str, str, str]]:
    """Fault, place with its lowest Pd, expected, said, right or what is wrong."""
    found = []
    for fault in FAULTS:
        results = results_of(fault.name)
        words = said(results)
        for place in fault.places:
            row = [str(name) for name in results["weather"].values].index(place.weather)
            lowest = float(np.nanmin(results["pd"].values[row][inside(results, place.where)]))
            entries = about(place, words)
            text = " / ".join(f"[{e.cause}, {e.weather}] {e.text}" for e in entries) or "nothing"
            wrong = misses(place, words)
            found.append((fault.name, f"{_where(place)}: {lowest:.2f}", _expected(place), text, "; ".join(wrong) or "right"))
    return found


def _where(place: Expected) -> str:
    return ", ".join(f"{section} {start:g}-{end:g} m" for section, start, end in place.where)


def _expected(place: Expected) -> str:
    return f"{place.cause}, {place.weather}, one of: {', '.join(place.words)}"


def main() -> None:
    """Print the table as Markdown, then how many places were named rightly."""
    table = rows()
    print("| fault | place: lowest Pd | expected | said | judged |\n| --- | --- | --- | --- | --- |")
    for row in table:
        print("| " + " | ".join(cell.replace("|", "/") for cell in row) + " |")
    print(f"\n{sum(row[-1] == 'right' for row in table)} of {len(table)} places named rightly.")


if __name__ == "__main__":
    main()
