"""A species' curve for a strain of another adult mass."""

import msgspec

from species.domain.growth_curve import GrowthCurve
from species.domain.profile import Profile
from species.domain.sourcing import Quantity, Reach


def curve_of_strain(profile: Profile, adult_mass_g: float | None) -> GrowthCurve | None:
    """Give the species' curve, its asymptote scaled where the bird's own strain has another adult mass."""
    curve = profile.growth_curve
    if curve is None or adult_mass_g is None:
        return curve
    scale = adult_mass_g / profile.masses.adult_g.value
    asymptote = Quantity(
        value=curve.asymptote_g.value * scale,
        reach=Reach.INFERRED,
        equation=f"asymptote {curve.asymptote_g.value:g} g x adult mass given / species adult mass, {scale:.3f}",
        sources=curve.asymptote_g.sources,
    )
    return msgspec.structs.replace(curve, asymptote_g=asymptote)
