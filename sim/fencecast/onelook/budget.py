"""The rungs of the budget: each step's contrast before and after, its factor, and a check for a pocket calculator."""

from __future__ import annotations

import math

from fencecast.kernels.look import AREA_PX, BLUR_U, RANGE_M
from fencecast.kernels.state import AIR, CLOTHING, GROUND
from fencecast.onelook.bodyrungs import acceptance_rows, cover_of, surface_rungs
from fencecast.onelook.drawing import passing_rows, shares
from fencecast.onelook.phrases import Phrase, celsius, joined, metres, plain
from fencecast.onelook.scene import Look
from fencecast.physics.air import gas_transmission
from fencecast.physics.body import SILHOUETTES, silhouette_kind
from fencecast.physics.discrimination import discrimination_exponent
from fencecast.physics.radiance import band_radiance

TORSO = 1


def rungs_of(look: Look, numbers: dict) -> list[dict]:
    """The ladder of `explain`: part 1 in kelvin of torso contrast, part 2 in shares and probabilities; before them, of what is no
    person, part 0: how warm its surfaces are.

    Steps that do not act (no rain, dry window, no barrier) are left out.
    """
    return surface_rungs(look) + _contrast_rungs(look, numbers) + _decision_rungs(look, numbers)


def _contrast_rungs(look: Look, numbers: dict) -> list[dict]:
    kelvin, air, band, noun, part = look.slope_300k, look.air, look.band, look.subject.noun, look.subject.part
    low, high = look.plan.bands.low_um[band], look.plan.bands.high_um[band]
    slant = float(look.result[RANGE_M])
    torso_c, ground_c = numbers["parts"][TORSO]["temperature_c"], numbers["ground_temperature_c"]
    surface = (band_radiance(look.clothing_k, low, high) - band_radiance(air.ground_temperature_k, low, high)) / kelvin
    rungs = [
        {
            "name": f"{part} above the ground" if surface >= 0.0 else f"{part} below the ground",
            **joined("surfaces, {} and {}", celsius(torso_c), celsius(ground_c)).keys("detail"),
            "before_k": None,
            "after_k": surface,
            "factor": None,
            "check": f"{torso_c - ground_c:.2f} K; {surface:.2f} K as radiance",
            "part": 1,
        }
    ]

    def step(name: str, detail: str | Phrase, after_k: float, check: str) -> None:
        before = rungs[-1]["after_k"]
        factor = after_k / before if before != 0.0 else math.inf if after_k else 1.0
        words = (plain(detail) if isinstance(detail, str) else detail).keys("detail")
        rungs.append({"name": name, **words, "before_k": before, "after_k": after_k, "factor": factor, "check": check, "part": 1})

    emissivity, cover = look.cover_emissivity, cover_of(look)
    ground_e = look.plan.scene.ground_emissivity
    l_torso, l_ground, l_air = look.radiance(CLOTHING), look.radiance(GROUND), look.radiance(AIR)
    step(
        "emissivity and reflections",
        f"{'cloth' if cover == 'clothing' else cover} {emissivity:.2f}, {look.site.site.ground} {ground_e:.2f}",
        (l_torso - l_ground) / kelvin,
        f"({l_torso:.3f} − {l_ground:.3f}) W/(m²·sr) / {kelvin:.4f}",
    )
    behind = look.background_range_m(look.part_middle_m(TORSO))
    sky_behind = numbers["obstacle_behind"] or math.isinf(behind)
    if sky_behind:
        step(
            "background at air temperature",
            f"an obstacle behind the {part}" if numbers["obstacle_behind"] else f"the horizon behind the {part}",
            (l_torso - l_air) / kelvin,
            f"({l_torso:.3f} − {l_air:.3f}) W/(m²·sr) / {kelvin:.4f}",
        )
    so_far = rungs[-1]["after_k"]
    tau = float(gas_transmission(slant, air.vapour_g_m3))
    vapour = joined("{} of air, {}", metres(slant, 1), plain(f"{air.vapour_g_m3:.1f} g/m³"))
    step("water vapour", vapour, so_far * tau, f"gas transmission {tau:.3f}")
    fog_name = "haze" if look.weather.fog == "none" else "fog"
    in_air = Phrase(numbers["fog_text"], numbers["fog_text_us"])
    drops = joined("{}, {}", plain(f"drops {air.drop_radius_um:.1f} µm"), in_air)
    fog_detail = plain("fine droplets") if fog_name == "haze" else drops
    wet = (
        (fog_name, fog_detail, air.fog_per_m),
        ("rain", in_air, air.rain_per_m),
        ("snow", in_air, air.snow_per_m),
    )
    for name, detail, per_m in wet:
        if per_m > 0.0:
            passing = math.exp(-per_m * slant)
            tau *= passing
            step(name, detail, so_far * tau, f"exp(−{per_m:.3g} × {slant:.1f}) = {passing:.3f}")
    if not sky_behind:
        droplets = air.fog_per_m + air.rain_per_m + air.snow_per_m
        tau_behind = float(gas_transmission(behind, air.vapour_g_m3)) * math.exp(-droplets * behind)
        veil = (tau - tau_behind) * (l_ground - l_air) / kelvin
        step(
            "air between body and ground",
            joined("ground {} away, behind", metres(behind, 1)),
            rungs[-1]["after_k"] + veil,
            f"({tau:.3f} − {tau_behind:.3f}) × ({(l_ground - l_air) / kelvin:.2f} K) = {veil:+.3f} K".replace("-", "−"),
        )
    torso = SILHOUETTES[silhouette_kind(look.body.motion.posture), TORSO]
    for hider in numbers["hidden_by"]:
        if hider["kind"] != "fence":
            covered = min(max((hider["below_m"] - look.body.motion.base) / look.body.height, 0.0), 1.0)
            share = "all" if covered >= 0.995 else f"{100 * covered:.0f} %"
            sizes = [metres(hider[name], 1) for name in ("height_m", "distance_m")]
            words = joined(f"{{}} high, {{}} away; {share} of the {noun}", *sizes)
            left = hider["below_m"] < look.body.motion.base + look.body.height * (1.0 - float(torso[2]))
            name = f"{f'{part} ' if not left and covered < 0.995 else ''}hidden by {hider['name']}"  # a head may be left
            step(name, words, rungs[-1]["after_k"] if left else 0.0, hider["check"])
    passed = numbers["barrier_factor"]
    if numbers["fences"]:
        step(
            "fence in between",
            _fence_words(look, numbers["fences"]),
            rungs[-1]["after_k"] * passed,
            f"{passed:.3f} of the {part}",
        )
    if air.window != 1.0:
        window = look.weather.front_window
        state = f"drops on {window.share:.2f} of the pupil" if window.state == "drops" else f"water film {window.film_um:g} µm"
        check = f"1 − {window.share:.2f} = {air.window:.3f}" if window.state == "drops" else f"{air.window:.3f}"
        step("front window", state, rungs[-1]["after_k"] * air.window, check)
    if numbers["outside"]:
        step("outside the picture", f"nothing of the {noun} is drawn", 0.0, _sides(numbers["outside"]))
        return rungs
    x, y = shares(look, TORSO)[0], passing_rows(look, TORSO) / passed if passed > 0.0 else shares(look, TORSO)[1]
    fill = float(x.max() * y.max())
    wide, tall = numbers["pixels_wide"], numbers["pixels_tall"]
    blur = f", blur {look.result[BLUR_U]:.2f}" if look.drawn else ""
    step(
        "blur and pixel fill",
        f"strongest {part} pixel" if look.drawn else f"the {part} is not in the picture",
        rungs[-1]["after_k"] * fill,
        f"{x.max():.3f} × {y.max():.3f}; {wide:.1f} × {tall:.1f} pixels{blur}",
    )
    return rungs


def _sides(outside: list[dict]) -> str:
    """'4.1° below' and the like."""
    return ", ".join(f"{each['degrees']:.1f}° {each['side']}" for each in outside)


def _fence_words(look: Look, fences: list[dict]) -> Phrase:
    """'north fence passes 0.85', and below which height over the person's feet where that is under the head."""
    parts = []
    for fence in fences:
        words = plain(f"{fence['section']} passes {fence['passes']:.2f}")
        low = fence["top_m"] < look.body.motion.base + look.body.height
        parts.append(joined("{} below {}", words, metres(fence["top_m"], 1)) if low else words)
    return joined(", ".join(["{}"] * len(parts)), *parts)


def _decision_rungs(look: Look, numbers: dict) -> list[dict]:
    decision = look.plan.decision
    q, area, cycles = numbers["seen_share"], float(look.result[AREA_PX]) if look.drawn else 0.0, numbers["cycles"]
    n_min = int(decision.min_pixels)
    pixels = "pixel" if n_min == 1 else "pixels"
    words = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}.get(n_min, str(n_min))
    x = cycles / decision.cycles_50
    e = float(discrimination_exponent(x))
    p, d = numbers["p_look"], numbers["p_discriminate"]
    behind = ()
    if numbers["fences"]:
        left = numbers["passes_fences"]
        behind = (("contrast left by the fence", "over the visible body", left, f"{left:.3f} of what it would show"),)
    accepted, product = acceptance_rows(look), f"{p:.3f} × {d:.3f}"
    if accepted:
        product += f" × {accepted[-1][2]:.3f}"
    rows = (
        *behind,
        ("share of the body seen", "signal kept by pixels over threshold", q, f"q = {q:.3f}"),
        (
            f"{words} {pixels} or more pass",
            f"{numbers['n_pixels_expected']:.1f} of {numbers['pixels_in_view']} expected",
            p,
            "Poisson-binomial over the pixels",
        ),
        (
            "enough detail to classify",
            f"{cycles:.2f} cycles, half of all at {decision.cycles_50:.1f}",
            d,
            f"½√({area:.1f} × {q:.3f}) = {cycles:.2f}; x = {x:.3f}, xᴱ/(1+xᴱ), E = {e:.2f}",
        ),
        *accepted,
        ("this look counts", "all conditions" if accepted else "both conditions", numbers["p_counts"], product),
    )
    return [
        {"name": n, "detail": t, "before_k": None, "after_k": None, "factor": None, "value": float(v), "check": c, "part": 2}
        for n, t, v, c in rows
    ]
