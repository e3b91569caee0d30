"""Volumes and grams of a pot, before any heat."""

from api.plans.rules import batches, mixing
from api.plans.rules.batches import Pot
from api.plans.rules.mix import MixRequest
from api.plans.rules.mix_limits import MOST_BATCH_ML, composition_of
from api.web.rules.ledger import Ledger
from species.domain.errors import DomainError
from species.domain.record import Record

BALANCE = ("IAPWS 1995", "CHO86 Table 1")


class Measures(Record, frozen=True, kw_only=True):
    """Amounts of one pot. ``serving_*`` are exact and in the order of the pot's servings."""

    portions_ml: float
    volume_ml: float
    mass_g: float
    scale_step_g: float
    powder_g: float
    water_g: float
    serving_volumes_ml: tuple[float, ...]
    serving_masses_g: tuple[float, ...]


def measure(request: MixRequest, pot: Pot, ledger: Ledger, at: str) -> Measures:
    """Work out what goes into a pot.

    Parameters
    ----------
    request
        The kitchen and the powder.
    pot
        Servings out of one pot, thickest first.
    ledger
        Keeps the reasons.
    at
        JSON pointer of the batch.

    Raises
    ------
    DomainError
        If the batch is more than one pot holds.
    """
    composition, first = composition_of(request), pot.servings[0].dry_matter_fraction
    everyone = [portion for serving in pot.servings for portion in serving.portions]
    needed = ledger.derive(
        f"{at}/portions_ml",
        batches.portions_ml,
        volumes_ml=[portion.volume_ml for portion in everyone],
        counts=[portion.count for portion in everyone],
    )
    volumes = [batches.batch_ml(serving.needed_ml, request.spare_fraction) for serving in pot.servings]
    masses = [
        mixing.batch_mass_g(volume, serving.dry_matter_fraction, composition, request.target_c)
        for volume, serving in zip(volumes, pot.servings, strict=True)
    ]
    slurry = {"dry_matter_fraction": first, "composition": composition, "target_c": request.target_c}
    if len(pot.servings) == 1:
        volume = ledger.derive(
            f"{at}/volume_ml",
            batches.batch_ml,
            needed_ml=needed,
            spare_fraction=request.spare_fraction,
            sources=("COMMON spare",),
        )
        mass = ledger.derive(f"{at}/mass_g", mixing.batch_mass_g, volume_ml=volume, sources=BALANCE, **slurry)
    else:
        mass = ledger.derive(
            f"{at}/mass_g",
            batches.needed_at_g,
            masses_g=masses,
            dry_matter_fractions=[serving.dry_matter_fraction for serving in pot.servings],
            at_dry_matter_fraction=first,
        )
        volume = ledger.derive(f"{at}/volume_ml", mixing.mixed_volume_ml, mass_g=mass, sources=BALANCE, **slurry)
    if volume > MOST_BATCH_ML:
        raise DomainError(
            f"One batch would be {volume:g} mL.",
            field="/portions",
            code="batch_too_large",
            remedy=f"Mix at most {MOST_BATCH_ML:g} mL in one pot: ask for two mixes.",
        )
    step = ledger.derive(f"{at}/scale_step_g", mixing.scale_step_g, mass_g=mass, sources=("COMMON scale",))
    sold = {
        "mass_g": mass,
        "dry_matter_fraction": first,
        "powder_dry_matter_fraction": request.powder_dry_matter_fraction,
        "step_g": step,
    }
    return Measures(
        portions_ml=needed,
        volume_ml=volume,
        mass_g=mass,
        scale_step_g=step,
        powder_g=ledger.derive(f"{at}/powder_g", mixing.powder_g, sources=request.powder_sources, **sold),
        water_g=ledger.derive(f"{at}/water_g", mixing.water_g, sources=request.powder_sources, **sold),
        serving_volumes_ml=tuple(volumes),
        serving_masses_g=tuple(masses),
    )
