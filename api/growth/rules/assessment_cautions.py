"""What an assessment must not be read without."""

from collections.abc import Iterator

from api.catalog.rules.known import Known
from api.web.rules.cautions import Caution, Severity
from species.domain.growth_curve import GrowthCurve


def assessment_cautions(
    known: Known, curve: GrowthCurve, *, last_age_days: float, strain: str | None, adult_mass_g: float | None
) -> Iterator[Caution]:
    """The cautions of an assessment.

    Parameters
    ----------
    known, curve
        The species and the curve that the bird was held against.
    last_age_days
        Age at the last weighing.
    strain, adult_mass_g
        What was told of the bird's own kind.
    """
    yield _note(
        "ask_a_vet", "A curve replaces no licensed avian vet. Where bird and curve disagree, believe the bird and ask."
    )
    if not known.listed:
        yield _note(
            "inferred_profile",
            "It is reckoned from adult mass and relatives: its bands are wide, the own record says more.",
        )
    if strain is not None and adult_mass_g is None:
        yield _note(
            "strain_not_known",
            "Nothing is printed here for the strain you told: it was held against the species. Strains can be far "
            "heavier; tell adult_mass_g, the weight of its parents.",
        )
    if last_age_days > curve.valid_to_day:
        yield _note(
            "age_beyond_curve",
            f"The species' curve ends at day {curve.valid_to_day:g}; later it shows its plateau, and many birds lose "
            "mass before they fly.",
        )


def _note(code: str, text: str) -> Caution:
    return Caution(code=code, severity=Severity.NOTE, text=text)
