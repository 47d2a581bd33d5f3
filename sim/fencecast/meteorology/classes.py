"""What a weather class says about the air: kinds of fog, conventions of visibility, and the drops that each fog has."""

from fencecast.site.quantity import Quantity

# Codes that the kernels use.
FOG_KINDS = {"none": 0, "radiation": 1, "advection": 2}
CONVENTIONS = {"optical_range": 0, "visual_range": 1}

# Default effective radii of drops: lognormal, median [um] and sigma_ln (judgement, no source).
FOG_DROPS = {"radiation": Quantity.lognormal(5.0, 0.35), "advection": Quantity.lognormal(9.0, 0.35)}
# Without a named fog no law asks for drops; any radius will do.
UNUSED_DROPS = Quantity.fixed(10.0)


def drop_radius_of(weather) -> Quantity:
    """The drop radius [um] that a weather class draws: its own, or the default of its fog."""
    if weather.drop_radius_um is not None:
        return weather.drop_radius_um
    return FOG_DROPS.get(weather.fog, UNUSED_DROPS)
