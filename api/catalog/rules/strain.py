"""A strain of another adult mass: its curve, and whether there can be such a one."""

import msgspec

from species.domain.errors import DomainError
from species.domain.growth_curve import GrowthCurve
from species.domain.profile import Profile
from species.domain.sourcing import Quantity, Reach

#: Breeds of one species differ up to so many times from its usual mass; beyond, it is another species or a slip.
#: Common practice, no source.
BREEDS_DIFFER_UP_TO = 5.0


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


def refuse_other_adult_mass(*, adult_mass_g: float | None, usual_g: float) -> None:
    """Refuse an adult mass that no strain of the species has.

    Parameters
    ----------
    adult_mass_g
        What was told of this bird's strain, if anything.
    usual_g
        Adult mass of the species.

    Raises
    ------
    DomainError
        Where the two differ more than breeds do.
    """
    if adult_mass_g is None or 1 / BREEDS_DIFFER_UP_TO <= adult_mass_g / usual_g <= BREEDS_DIFFER_UP_TO:
        return
    raise DomainError(
        f"Adults of this species weigh about {usual_g:g} g; {adult_mass_g:g} g is another species, or a slip.",
        field="/adult_mass_g",
        code="adult_mass_disagrees",
        remedy="Check the unit and the decimal point, or leave it out.",
    )
