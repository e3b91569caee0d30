"""What an estimated age must not be read without."""

from collections.abc import Iterator

from api.catalog.rules.known import Known
from api.web.rules.cautions import ACT_TODAY_WITHIN_H, Caution, Severity
from species.domain.record import Record

#: Below it the second candidate is no remote chance (common practice, no source).
SURE_OF_SPECIES = 0.9


class AgeTold(Record, frozen=True, kw_only=True):
    """What the cautions rest on: the best candidate and how its age came about."""

    known: Known
    low_days: float
    open_ended: bool
    used: tuple[str, ...]
    unknown: tuple[str, ...]
    disagree: bool
    probability: float
    not_compared: tuple[str, ...]


def age_cautions(told: AgeTold) -> tuple[Caution, ...]:
    """The cautions of an age, those that ask for something today first."""
    return (*_pressing(told), *_to_know(told))


def _pressing(told: AgeTold) -> Iterator[Caution]:
    if told.disagree:
        yield _today(
            "age_evidence_disagrees",
            "Its weight and its development tell different ages. A thin bird weighs like a younger one: trust the "
            "feathers for its age, check its body condition and the species, and weigh again.",
        )
    if told.probability < SURE_OF_SPECIES:
        yield _today(
            "species_doubtful",
            f"The most likely species has a probability of {told.probability:.0%} among those asked about. Find out "
            "which it is before feeding by its plan.",
        )
    if not told.known.listed:
        yield _today(
            "inferred_profile",
            "The species has no profile: its growth is reckoned from adult mass and order, and its age is rough.",
        )


def _to_know(told: AgeTold) -> Iterator[Caution]:
    if told.open_ended:
        yield _note(
            "age_only_at_least",
            f"What was told sets no upper limit: it is at least about {told.low_days:g} d old, and days, high_days "
            "and hatched_on say little more. A milestone not yet seen would narrow it.",
        )
    if told.used == ("mass",):
        yield _note(
            "age_from_mass_alone",
            "Weight alone takes a thin bird for a younger one. Tell what is seen of eyes, pins and feathers as well.",
        )
    if told.unknown:
        yield _note(
            "evidence_not_used",
            f"Not used, as the profile of {told.known.profile.vernacular_name} has no ages for it: "
            f"{', '.join(told.unknown)}.",
        )
    if told.not_compared:
        yield _note(
            "evidence_not_compared",
            f"Not every candidate's profile knows of {', '.join(told.not_compared)}: it tells the age, but the "
            "candidates are ranked without it.",
        )


def _today(code: str, text: str) -> Caution:
    return Caution(code=code, severity=Severity.ACT_TODAY, act_within_h=ACT_TODAY_WITHIN_H, text=text)


def _note(code: str, text: str) -> Caution:
    return Caution(code=code, severity=Severity.NOTE, text=text)
