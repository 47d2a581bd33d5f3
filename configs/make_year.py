"""Makes marsh-depot-weather.csv, one year of hourly weather, invented from a seed. Run it as `python configs/make_year.py`.

No station, no real place: a mild coast with foggy autumns is what it imitates, by hand-made rules. Weather comes in spells (a
slow random wave between high and low pressure); temperature has a season, a day and spells; humidity follows from temperature
and a dew point that lags behind it; clear calm damp nights grow radiation fog, some spells of moist air from the sea bring
advection fog by day and night; low pressure brings rain, or snow when it is cold. As a real record it has holes: three days
lost in March, single values lost here and there, and one wind that cannot be.

Only the standard library's generator and arithmetic are used, so that every machine makes the same file.
"""

from __future__ import annotations

import math
import random
from datetime import datetime, timedelta
from pathlib import Path

FILE = "marsh-depot-weather.csv"
SEED, YEAR, HOURS = 13, 2031, 8760
HEADINGS = ("time", "air_c", "humidity_percent", "wind_m_s", "cloud_okta", "visibility_m", "rain_mm", "snow_mm")
FARTHEST_M = 20_000  # the farthest mark of the station: "this or more"
LOST_FROM, LOST_TO = datetime(YEAR, 3, 11, 9), datetime(YEAR, 3, 14, 9)
LOST_VALUES = 24
IMPOSSIBLE_WIND = (datetime(YEAR, 6, 19, 14), 310.0)


class Wave:
    """Noise of mean 0 and standard deviation 1 that forgets itself over some hours."""

    def __init__(self, source: random.Random, hours: float):
        self.source, self.keep = source, math.exp(-1.0 / hours)
        self.kick = math.sqrt(1.0 - self.keep**2)
        self.value = source.gauss(0.0, 1.0)

    def next(self) -> float:
        self.value = self.keep * self.value + self.kick * self.source.gauss(0.0, 1.0)
        return self.value


def saturation_hpa(celsius: float) -> float:
    """Vapour pressure over water (Magnus form)."""
    return 6.112 * math.exp(17.62 * celsius / (243.12 + celsius))


def rows() -> list[list[str]]:
    """The lines of the file, as texts."""
    source = random.Random(SEED)
    pressure, airmass, moisture = Wave(source, 60.0), Wave(source, 70.0), Wave(source, 45.0)
    gusts, patches, banks, showers = Wave(source, 8.0), Wave(source, 6.0), Wave(source, 14.0), Wave(source, 3.0)
    clearness = Wave(source, 12.0)
    dew_point, fog_h, sea_fog_h, lines = 5.0, 0, 0, []
    for hour in range(HOURS):
        time = datetime(YEAR, 1, 1) + timedelta(hours=hour)
        day = hour / 24.0
        season = -math.cos(2.0 * math.pi * (day - 25.0) / 365.0)  # -1 late in January, 1 late in July
        sun = _sun(day, time.hour + 0.5)
        high = pressure.next()
        cloud = min(max(0.58 - 0.30 * high + 0.16 * patches.next(), 0.0), 1.0)
        wind = max(0.1, 4.0 * math.exp(-0.45 * high + 0.35 * gusts.next()) * (1.0 if sun > 0.0 else 0.7))
        # The day's swing lags two hours behind the sun; clouds and wind flatten it.
        swing = (1.0 - 0.7 * cloud) * math.cos(2.0 * math.pi * (time.hour + 0.5 - 14.5) / 24.0)
        air = 8.9 + 7.2 * season + 3.1 * airmass.next() + (3.6 + 1.6 * season) * swing
        dew_point += (air - 2.0 - 1.8 * (1.0 - cloud) + 1.0 * moisture.next() - dew_point) / 14.0
        damp = min(saturation_hpa(dew_point) / saturation_hpa(air), 1.0)
        # Radiation fog: dark, clear, calm and damp for some hours; it stays for as long as the sun is low.
        ripe = sun < 3.0 and cloud < 0.5 and wind < 2.3 and damp > 0.965
        fog_h = fog_h + 1 if ripe else (fog_h - 2 if sun < 10.0 and wind < 3.5 else 0)
        fog_h = min(max(fog_h, 0), 8)
        # Advection fog: moist mild air over cold water, in spells, most from March to June and late in the year.
        bank = banks.next() + 0.35 * moisture.value + 0.25 * math.cos(4.0 * math.pi * (day - 120.0) / 365.0)
        sea_fog_h = sea_fog_h + 1 if bank > 2.05 and damp > 0.88 and wind < 7.0 else 0
        clear_m = 24_000.0 * math.exp(0.55 * clearness.next()) * (1.0 - damp * 0.9) ** 0.45
        thickness = 0.5 * patches.value - 0.35 * (bank if sea_fog_h else 0.0)
        if fog_h >= 2:
            visibility = 1900.0 * math.exp(-0.42 * fog_h + 0.6 * clearness.value)
        elif sea_fog_h:
            visibility = 650.0 * math.exp(1.2 * thickness)
        else:
            visibility = clear_m
        foggy = visibility < 1000.0
        if foggy:
            damp = max(damp, 0.985)
            cloud = 1.0 if sea_fog_h else cloud
        # Fronts and showers.
        front = showers.next() - 0.75 * high + 0.25 * airmass.value
        water = 0.0
        if front > 1.62 and not (foggy and fog_h):
            water = round(0.34 * math.exp(0.7 * (front - 1.62) + 0.75 * source.gauss(0.0, 1.0)), 1)
            cloud, damp = max(cloud, 0.85), max(damp, 0.86)
        snow = water if air < 0.8 else 0.0
        if water > 0.0 and not foggy:
            visibility = min(visibility, 14_000.0 * (water + 0.3) ** -0.5 * (0.12 if snow else 1.0))
        lines.append(
            [
                f"{time:%Y-%m-%d %H:%M}",
                f"{air:.1f}",
                f"{100.0 * damp:.0f}",
                f"{wind:.1f}",
                f"{8.0 * cloud:.0f}",
                _range_text(visibility),
                f"{water - snow:.1f}",
                f"{snow:.1f}",
            ]
        )
    return _with_holes(lines, source)


def _sun(day: float, clock: float) -> float:
    """The sun's height [degrees] at 54 degrees north by local standard time, to a degree or two."""
    tilt = math.radians(-23.44 * math.cos(2.0 * math.pi * (day + 10.0) / 365.0))
    turn = math.radians(15.0 * (clock - 12.0))
    north = math.radians(54.0)
    return math.degrees(math.asin(math.sin(north) * math.sin(tilt) + math.cos(north) * math.cos(tilt) * math.cos(turn)))


def _range_text(metres: float) -> str:
    """Steps of 10, 100 and 1,000 m, as stations report."""
    step = 10 if metres < 1000.0 else 100 if metres < 5000.0 else 1000
    return str(min(max(step * round(metres / step), 20), FARTHEST_M))


def _with_holes(lines: list[list[str]], source: random.Random) -> list[list[str]]:
    for _ in range(LOST_VALUES):
        lines[source.randrange(HOURS)][source.randrange(1, len(HEADINGS))] = ""
    time, wind = IMPOSSIBLE_WIND
    lines[int((time - datetime(YEAR, 1, 1)).total_seconds() // 3600)][HEADINGS.index("wind_m_s")] = f"{wind:.1f}"
    lost = {f"{LOST_FROM + timedelta(hours=k):%Y-%m-%d %H:%M}" for k in range(int((LOST_TO - LOST_FROM).total_seconds() // 3600))}
    return [line for line in lines if line[0] not in lost]


def text() -> str:
    """The whole file."""
    return "".join(",".join(line) + "\n" for line in [list(HEADINGS), *rows()])


if __name__ == "__main__":
    path = Path(__file__).with_name(FILE)
    path.write_text(text(), encoding="utf-8", newline="\n")
    print(f"written: {path.name}, {len(rows()):,} hours")
