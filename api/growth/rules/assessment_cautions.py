"""What an assessment must not be read without."""

from collections.abc import Iterator

from api.catalog.rules.known import Known
from api.growth.rules.ageing import AgeEstimate
from api.web.rules.cautions import ACT_TODAY_WITHIN_H, Caution, Severity
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


def record_cautions(*, older: bool, most: int, before_hatching: int, estimate: AgeEstimate | None) -> Iterator[Caution]:
    """What else must not be missed of an assessment that was made from a record.

    Parameters
    ----------
    older, most
        Whether there are weighings before those used, which are so many at most.
    before_hatching
        How many weighings were left out because they lie before hatching.
    estimate
        The age, where nobody told one.
    """
    if before_hatching:
        yield Caution(
            code="weighed_before_hatching",
            severity=Severity.ACT_TODAY,
            act_within_h=ACT_TODAY_WITHIN_H,
            text=f"Left out, because they lie before it hatched: {before_hatching} of its weighings. Check their "
            "dates, and that of hatching.",
        )
    if estimate is not None:
        yield _note(
            "age_estimated",
            f"Nobody told its age: it is taken to have hatched about {estimate.hatched_on}, from "
            f"{' and '.join(estimate.used)}. Tell hatched_on or age_estimate as soon as it is known.",
        )
    if older:
        yield _note("older_weighings_left_out", f"Only its last {most} weighings were used.")


def _note(code: str, text: str) -> Caution:
    return Caution(code=code, severity=Severity.NOTE, text=text)
