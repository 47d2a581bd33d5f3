"""Everything as one table: the main job (`speed.py`), then the look against rivals and the processor (`against.py`).

Nothing is timed twice; each line comes from the script that owns it.
"""

from __future__ import annotations

import argparse
import os
import platform

import against
import speed


def rows(smoke: bool):
    """(quantity, value, ratio, target) of every line of both scripts, measured as it goes."""
    for quantity, value, target in speed.rows(smoke):
        yield quantity, value, "", target
    yield from against.rows(smoke)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smoke", action="store_true", help="everything once and small, to see that it works")
    smoke = parser.parse_args().smoke
    print(f"{speed.processor()}, {os.cpu_count()} processors, Python {platform.python_version()}")
    print("smoke run: figures mean nothing" if smoke else "medians over fresh processes; rivals and limits on one thread")
    print(f"{'quantity':48} {'measured':70} {'ratio':>7} target")
    for quantity, value, ratio, target in rows(smoke):
        print(f"{quantity:48} {value:70} {ratio:>7} {target}", flush=True)


if __name__ == "__main__":
    main()
