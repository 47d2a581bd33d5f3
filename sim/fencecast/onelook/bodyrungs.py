"""What a look at a body that is no person has besides: how warm its surfaces are, and whether it is taken for a person."""

from __future__ import annotations

import math
from typing import Any

from fencecast.kernels.look import CYCLES
from fencecast.kernels.state import CLOTHING, FIRST_SURFACE, GROUND, LEGS
from fencecast.onelook.accepted import acceptance, gate_words, has_gate, size_check
from fencecast.onelook.bodies import Subject
from fencecast.onelook.phrases import joined, kelvin, plain
from fencecast.onelook.scene import Look
from fencecast.physics.body import FACE, LIMBS, PART_SURFACE, silhouette_kind
from fencecast.physics.coat import LEAST_LEG_TEMPERATURE_K
from fencecast.physics.discrimination import discrimination_probability
from fencecast.physics.surfaces import CORE_TEMPERATURE_K, SKIN_EMISSIVITY, relative_air_speed_m_s
from fencecast.units import ZERO_CELSIUS_K


def cover_of(look: Look) -> str:
    """What covers a body: 'clothing', 'coat', or a vehicle's 'sides'."""
    return cover_name(look.subject)


def cover_name(subject: Subject) -> str:
    """As `cover_of`, of whom a look is at."""
    if subject.is_person or subject.stimulus is None:
        return "clothing"
    return "sides" if subject.stimulus.over_air_k is not None else "coat"


def part_numbers(look: Look) -> list[dict[str, Any]]:
    """Name, temperature and emissivity of the four parts of a body; of a head the mix of bare skin and what covers the rest."""
    cover_c, skin_c = look.clothing_k - ZERO_CELSIUS_K, look.skin_k - ZERO_CELSIUS_K
    emissivity, bare = look.cover_emissivity, look.bare_share
    parts = []
    for name, surface in zip(look.subject.parts, PART_SURFACE[silhouette_kind(look.body.motion.posture)], strict=True):
        temperature, of_part = cover_c, emissivity
        if surface == FACE:
            temperature, of_part = bare * skin_c + (1.0 - bare) * cover_c, bare * SKIN_EMISSIVITY + (1.0 - bare) * emissivity
        elif surface == LIMBS and not math.isnan(look.legs_k):
            temperature = look.legs_k - ZERO_CELSIUS_K
        parts.append({"name": name, "temperature_c": temperature, "emissivity": of_part})
    return parts


def body_numbers(look: Look) -> dict[str, Any] | None:
    """What a look is at, with the numbers behind it; None for the intruder. Contrasts: over the ground, before the air [K]."""
    subject, stimulus = look.subject, look.subject.stimulus
    if stimulus is None:
        return None
    legs = not math.isnan(look.legs_k)
    return {
        "name": stimulus.name,
        "kind": stimulus.kind,
        "of_file": subject.of_file,
        "silhouette": stimulus.silhouette,
        "size_m": [look.body.height, look.body.depth, look.body.breadth],
        "base_m": float(look.body.motion.base),
        "confused": stimulus.confused,
        "shape_cycles": look.shape_cycles,
        "cover": cover_of(look),
        "coat_m2k_w": None if math.isnan(look.coat_m2k_w) else look.coat_m2k_w,
        "leg_m2k_w": stimulus.leg_m2k_w,
        "cover_minus_air_k": look.clothing_k - look.air.air_temperature_k,
        "cover_contrast_k": _contrast_k(look, CLOTHING),
        "legs_minus_air_k": look.legs_k - look.air.air_temperature_k if legs else None,
        "legs_contrast_k": _contrast_k(look, LEGS) if legs else None,
    }


def _contrast_k(look: Look, column: int) -> float:
    """What leaves a surface over what leaves the ground, as NETD is stated."""
    return (look.radiance(column) - look.radiance(GROUND)) / look.slope_300k


def surface_rungs(look: Look) -> list[dict[str, Any]]:
    """Part 0 of the ladder of a body that is no person: its coat or sides, and its legs or wheels; contrast before the air."""
    if look.subject.is_person:
        return []
    air_k, cover = look.air.air_temperature_k, cover_of(look)
    if cover == "sides":
        how = plain(f"{look.clothing_k - air_k:.1f} K above air, as given")
    else:
        how = plain(f"balance of a coat of {look.coat_m2k_w:.2f} m²K/W in wind, {air_text(look)}")
    rungs = [_surface(look, cover, look.clothing_k, CLOTHING, how)]
    if not math.isnan(look.legs_k):
        name = "wheels and bonnet" if cover == "sides" else "legs"
        how = plain(f"{look.legs_k - air_k:.1f} K above air, as given") if cover == "sides" else plain(_legs_check(look))
        rungs.append(_surface(look, name, look.legs_k, LEGS, how))
    return rungs


def air_text(look: Look) -> str:
    """The air's speed against a body: '2.3 m/s'."""
    return f"{float(relative_air_speed_m_s(look.air.wind_m_s, look.speed_m_s)):.1f} m/s"


def _legs_check(look: Look) -> str:
    air_c = look.air.air_temperature_k - ZERO_CELSIUS_K
    speed = float(relative_air_speed_m_s(look.air.wind_m_s, look.speed_m_s))
    transfer, legs = 4.5 + 8.3 * speed**0.6, look.subject.stimulus.leg_m2k_w  # as physics.coat.leg_temperature_k
    core = CORE_TEMPERATURE_K - ZERO_CELSIUS_K
    text = f"{air_c:.1f} + ({core:.0f} − {air_c:.1f}) / (1 + {transfer:.1f} × {legs:.2f})".replace("-", "−")
    least = LEAST_LEG_TEMPERATURE_K - ZERO_CELSIUS_K
    return f"{text} °C" + (f", never below {least:.0f} °C" if look.legs_k <= LEAST_LEG_TEMPERATURE_K else "")


def _surface(look: Look, name: str, temperature_k: float, column: int, how) -> dict[str, Any]:
    above = temperature_k - look.air.air_temperature_k
    ground = _contrast_k(look, column)
    assert column >= FIRST_SURFACE
    return {
        "name": name,
        **joined("{} above air", kelvin(above)).keys("detail"),
        "before_k": None,
        "after_k": ground,
        "factor": None,
        "check": how.si,
        "minus_air_k": above,
        "part": 0,
    }


def acceptance_rows(look: Look) -> tuple[tuple[str, str, float, str], ...]:
    """Rows of part 2 before 'this look counts': size, and of a body that is no intruder shape and both; the last is what is left.

    None for the intruder where no size is asked for, and where nothing is resolved.
    """
    found, decision, gate = acceptance(look), look.plan.decision, has_gate(look)
    own = look.subject.stimulus is not None
    if found.size_passes is None or found.shape_passes is None or not (own or gate):
        return ()
    cycles, confused, shape_cycles = float(look.result[CYCLES]), look.subject.confused, look.shape_cycles
    side = "no person could be pictured there"
    if found.size_ratio is not None and found.person_area_px is not None:
        side = f"{found.size_ratio:.2f} of an upright person, 2 × {cycles:.2f} / √{found.person_area_px:.1f}"
    words = f"{side}; the gate passes {gate_words(decision.size_gate)}" if gate else f"{side}; no size gate"
    rows = [("accepted by its size", words, found.size_passes, size_check(found, cycles, decision) if gate else "")]
    if own:
        resolved = float(discrimination_probability(cycles / shape_cycles))
        words = f"{confused:g} taken for a person when resolved, half of the way at {shape_cycles:.1f} cycles"
        check = f"1 − (1 − {confused:g}) × {resolved:.3f}, P at {cycles:.2f} / {shape_cycles:.1f}"
        product = f"{found.size_passes:.3f} × {found.shape_passes:.3f}"
        rows.append(("accepted by its shape", words, found.shape_passes, check))
        rows.append(("taken for a person", "size and shape", found.size_passes * found.shape_passes, product))
    return tuple(rows)
