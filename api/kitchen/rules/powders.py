"""The powder in the carer's bag, completed from its label; what was neither told nor follows is asked for."""

from api.kitchen.rules.limits import IN_A_KITCHEN
from species.biology.food_energy import composition_energy_kj_per_g_dm
from species.biology.powder import COMPONENTS, fractions
from species.domain.errors import DomainError
from species.domain.food import Formula
from species.domain.record import Record

#: Dry matter is what is not water; labels round both to a per cent.
DRY_MATTER_AGREES_WITHIN = 0.02


class PowderComposition(Record, frozen=True, kw_only=True):
    """Mass fractions of a powder as sold."""

    water: float
    protein: float
    fat: float
    carbohydrate: float
    fibre: float
    ash: float


class Powder(Record, frozen=True, kw_only=True):
    """The powder in the carer's bag, complete: what was not told was filled in and said so."""

    dry_matter_fraction: float
    energy_kj_per_g_dm: float
    composition: PowderComposition | None = None
    bulk_density_g_per_ml: float | None = None
    sources: tuple[str, ...] = ()


def powder_told(
    *,
    dry_matter_fraction: float | None = None,
    energy_kj_per_g_dm: float | None = None,
    bulk_density_g_per_ml: float | None = None,
    composition: PowderComposition | None = None,
    pointer: str = "/formula",
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
    pointer
        Where the powder stands in the request; empty where the request is the powder.

    Raises
    ------
    DomainError
        Where fractions do not add up, disagree with the dry matter, or a value is missing that nothing gives.
    """
    shares = None if composition is None else _shares(composition, pointer)
    if shares is not None and dry_matter_fraction is None:
        dry_matter_fraction = 1.0 - shares["water"]
    if dry_matter_fraction is None:
        raise DomainError(
            "Nothing tells how much of the powder is dry matter.",
            field=f"{pointer}/dry_matter_fraction",
            code="dry_matter_missing",
            remedy="Give it (1 less the moisture on the label), or the composition.",
        )
    if shares is not None and abs(1.0 - shares["water"] - dry_matter_fraction) > DRY_MATTER_AGREES_WITHIN:
        raise DomainError(
            f"{dry_matter_fraction:.3g} dry matter and {shares['water']:.3g} water do not add up to 1.",
            field=f"{pointer}/composition/water",
            code="dry_matter_disagrees",
            remedy=f"Give water {1.0 - dry_matter_fraction:.3g}, or leave dry_matter_fraction out.",
        )
    if energy_kj_per_g_dm is None and shares is None:
        raise DomainError(
            "Nothing tells the energy of the powder.",
            field=f"{pointer}/energy_kj_per_g_dm",
            code="energy_missing",
            remedy="Give it, or the composition from the label, from which it is reckoned"
            # Only where the powder is one of several things asked for can it be left out.
            + ("; without a formula the profile's default serves." if pointer else "."),
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


def powder_kept(
    *,
    dry_matter_fraction: float | None,
    energy_kj_per_g_dm: float | None,
    bulk_density_g_per_ml: float | None,
    composition: PowderComposition | None,
) -> Powder:
    """A powder that a network keeps for plans and mixes: complete, and dry enough for both.

    Raises
    ------
    DomainError
        As :func:`powder_told`, and ``out_of_range`` of a dry matter that no mix takes.
    """
    powder = powder_told(
        dry_matter_fraction=dry_matter_fraction,
        energy_kj_per_g_dm=energy_kj_per_g_dm,
        bulk_density_g_per_ml=bulk_density_g_per_ml,
        composition=composition,
        pointer="",
    )
    IN_A_KITCHEN["powder_dry_matter_fraction"].hold(powder.dry_matter_fraction, "/dry_matter_fraction")
    return powder


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


def _shares(composition: PowderComposition, pointer: str) -> dict[str, float]:
    try:
        return fractions({name: getattr(composition, name) for name in COMPONENTS})
    except DomainError as error:
        raise DomainError(error.detail, field=f"{pointer}/composition", code=error.code, remedy=error.remedy) from error
