"""The powder in the carer's bag, completed from its label; what was neither told nor follows is asked for."""

from api.plans.rules.request import Powder, PowderComposition
from species.biology.food_energy import composition_energy_kj_per_g_dm
from species.biology.powder import COMPONENTS, fractions
from species.domain.errors import DomainError
from species.domain.food import Formula

#: Dry matter is what is not water; labels round both to a per cent.
DRY_MATTER_AGREES_WITHIN = 0.02


def powder_told(
    *,
    dry_matter_fraction: float | None = None,
    energy_kj_per_g_dm: float | None = None,
    bulk_density_g_per_ml: float | None = None,
    composition: PowderComposition | None = None,
) -> Powder:
    """Complete a powder as the carer told it.

    Parameters
    ----------
    dry_matter_fraction
        Share of the powder as sold that is not water; from the composition where missing.
    energy_kj_per_g_dm
        Metabolisable energy per gram of dry matter; from the composition where missing, by the WPSA label
        equation with all carbohydrate read as sugar, the cautious end (MIXNOTE section 1.7).
    bulk_density_g_per_ml
        Grams of powder in a millilitre of scoop.
    composition
        Mass fractions as sold; scaled to a sum of one where the label's rounding misses it by up to 0.02.

    Raises
    ------
    DomainError
        Where fractions do not add up, disagree with the dry matter, or a value is missing that nothing gives.
    """
    shares = None if composition is None else _shares(composition)
    if shares is not None and dry_matter_fraction is None:
        dry_matter_fraction = 1.0 - shares["water"]
    if dry_matter_fraction is None:
        raise DomainError(
            "Nothing tells how much of the powder is dry matter.",
            field="/formula/dry_matter_fraction",
            code="dry_matter_missing",
            remedy="Give it (1 less the moisture on the label), or the composition.",
        )
    if shares is not None and abs(1.0 - shares["water"] - dry_matter_fraction) > DRY_MATTER_AGREES_WITHIN:
        raise DomainError(
            f"{dry_matter_fraction:.3g} dry matter and {shares['water']:.3g} water do not add up to 1.",
            field="/formula/composition/water",
            code="dry_matter_disagrees",
            remedy=f"Give water {1.0 - dry_matter_fraction:.3g}, or leave dry_matter_fraction out.",
        )
    if energy_kj_per_g_dm is None and shares is None:
        raise DomainError(
            "Nothing tells the energy of the powder.",
            field="/formula/energy_kj_per_g_dm",
            code="energy_missing",
            remedy="Give it, or the composition from the label, from which it is reckoned; without a formula the "
            "profile's default serves.",
        )
    told = energy_kj_per_g_dm is not None
    return Powder(
        dry_matter_fraction=dry_matter_fraction,
        energy_kj_per_g_dm=energy_kj_per_g_dm
        if energy_kj_per_g_dm is not None
        else composition_energy_kj_per_g_dm(shares or {}),
        bulk_density_g_per_ml=bulk_density_g_per_ml,
        composition=None if shares is None else PowderComposition(**shares),
        sources=() if told else ("WPSA label equation",),
    )


def powder_of(formula: Formula) -> Powder:
    """A formula of the catalogue as a powder."""
    stands_on = (formula.dry_matter_fraction, formula.energy_kj_per_g_dm, formula.composition)
    return Powder(
        dry_matter_fraction=formula.dry_matter_fraction.value,
        energy_kj_per_g_dm=formula.energy_kj_per_g_dm.value,
        bulk_density_g_per_ml=formula.bulk_density_g_per_ml.value,
        composition=PowderComposition(**{name: getattr(formula.composition, name) for name in COMPONENTS}),
        sources=tuple(dict.fromkeys(source for value in stands_on for source in value.sources)),
    )


def _shares(composition: PowderComposition) -> dict[str, float]:
    try:
        return fractions({name: getattr(composition, name) for name in COMPONENTS})
    except DomainError as error:
        raise DomainError(error.detail, field="/formula/composition", code=error.code, remedy=error.remedy) from error
