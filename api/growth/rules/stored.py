"""From a bird's record to what its growth is judged by: which weighings count, how old it is, whether it is weaned."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import msgspec

from api.birds.rules.words import WeighingState
from api.catalog.rules.known import Known
from api.growth.rules.ageing import AgeAsked, AgeEstimate, MilestoneTold, age_estimate
from api.growth.rules.asked import FEATHERED, AgeTold, GrowthAsked, Weighing
from api.growth.rules.assessment_cautions import record_cautions
from api.growth.rules.record import MOST_WEIGHINGS, GrowthKept, WeighingKept, milestones_now
from api.growth.rules.series import before_hatching
from api.growth.rules.slips import slips
from api.web.rules.cautions import Caution
from api.web.rules.ledger import BasisEntry
from species.domain.errors import ConflictError, DomainError
from species.domain.record import Record
from species.domain.vocabulary import MilestoneKey

#: A bird that shows one of these is being weaned.
WEANING = frozenset({MilestoneKey.SELF_FEEDS_SOME, MilestoneKey.SELF_FEEDS_ALL})
#: So is one that was fed to be weaned in the days before its last weighing. Common practice, no source.
WEANING_FEED_SPEAKS = timedelta(days=3)
#: Weighings so near to the first are held against each other before one of them tells the age, and steps of development
#: looked for so near to it speak of the age too: later ones say how it fared in care. Common practice, no source.
FIRST_DAYS = timedelta(days=3)
#: Two-sided 90 % of a normal spread, both sides.
_WIDTH_90 = 2 * 1.6448536269514722


class AgeKnown(Record, frozen=True, kw_only=True):
    """How the age of a recorded bird is known: as told, or as an estimate of ours."""

    basis: str
    estimate: AgeEstimate | None = None
    estimated_on: date | None = None


class Judged(Record, frozen=True, kw_only=True):
    """What a record's growth is judged by.

    Attributes
    ----------
    asked
        Weighings with their place in ``kept`` as index.
    kept
        The weighings that count, in the same order.
    """

    asked: GrowthAsked
    kept: tuple[WeighingKept, ...]
    age: AgeKnown
    cautions: tuple[Caution, ...]
    basis: tuple[BasisEntry, ...]


def judged_by(known: Known, record: GrowthKept, *, on: date | None = None) -> Judged:
    """Say what a bird's growth is judged by.

    Parameters
    ----------
    known
        Its species.
    record
        What was recorded of it.
    on
        The forecast begins the day after; the last weighing's day where missing.

    Returns
    -------
    Judged
        Without the weighings that somebody rejected, those beyond the last :data:`MOST_WEIGHINGS`, and those from
        before it hatched; the last two are said in cautions.

    Raises
    ------
    ConflictError
        ``no_weighings``, ``age_missing``, ``weighed_before_hatching``: the record does not hold enough.
    DomainError
        No bird of the species has the mass that its age would have to be read from.
    """
    kept = [one for one in record.weighings if one.state is not WeighingState.REJECTED]
    if not kept:
        raise ConflictError(
            "No weighing of this bird is recorded that was not rejected.",
            code="no_weighings",
            remedy="Weigh it before its first feed, POST /api/v1/weighings, and ask again.",
        )
    cut = record.older or len(kept) > MOST_WEIGHINGS
    kept = sorted(kept, key=lambda one: one.at)[-MOST_WEIGHINGS:]
    age = age_known(known, record, kept)
    asked = asked_of(record, age, kept, on)
    after = tuple(one for one in kept if not before_hatching(asked, one.at))
    if not after:
        raise ConflictError(
            "By its record every weighing of this bird was made before it hatched.",
            code="weighed_before_hatching",
            remedy="Check the dates of its weighings, and that of hatching, and PATCH what is wrong.",
        )
    return Judged(
        asked=asked_of(record, age, after, on),
        kept=after,
        age=age,
        cautions=(
            *record_cautions(
                older=cut, most=MOST_WEIGHINGS, before_hatching=len(kept) - len(after), estimate=age.estimate
            ),
            *(age.estimate.cautions if age.estimate else ()),
        ),
        basis=tuple(
            msgspec.structs.replace(entry, field=f"/age/estimate{entry.field}")
            for entry in (age.estimate.basis if age.estimate else ())
        ),
    )


def age_known(known: Known, record: GrowthKept, kept: Sequence[WeighingKept]) -> AgeKnown:
    """How old the bird is by its record, or as its first believable weight and its development about then say.

    The first weight, not the last: a bird that falls behind must not count as ever younger. Each look at its
    development counts at its own time, so that a step not there one day and seen the next says when it came.

    Raises
    ------
    ConflictError
        Where there is neither, or neither says anything: ``age_missing``.
    DomainError
        No bird of the species weighs that.
    """
    for basis in ("hatched_at", "hatched_on", "age_estimate"):
        if getattr(record, basis) is not None:
            return AgeKnown(basis=basis)
    first = first_believable(kept)
    looked = max((milestone.observed_at for milestone in record.milestones), default=None)
    at = first.at if first else looked
    if at is None:
        raise ConflictError(
            "Nothing in the record of this bird says how old it is.",
            code="age_missing",
            remedy="Weigh it, record what it shows of its development, or PATCH hatched_on, hatched_at or "
            "age_estimate.",
        )
    looks = {
        (one.key, (one.observed_at - at) / timedelta(days=1)): one.seen
        for one in record.milestones
        if abs(one.observed_at - at) <= FIRST_DAYS
    }
    told = AgeAsked(
        on=at.astimezone(ZoneInfo(record.time_zone)).date(),
        mass_g=first.mass_g if first else None,
        milestones=tuple(MilestoneTold(key=key, seen=seen, days_later=days) for (key, days), seen in looks.items()),
    )
    return AgeKnown(basis="estimated", estimate=_estimate(known, told), estimated_on=told.on)


def _estimate(known: Known, told: AgeAsked) -> AgeEstimate:
    try:
        return age_estimate([known], told)
    except DomainError as error:
        if error.code != "implausible_weight" or not told.milestones:
            raise
        return age_estimate([known], msgspec.structs.replace(told, mass_g=None))


def first_believable(kept: Sequence[WeighingKept]) -> WeighingKept | None:
    """The first weighing to tell an age from: not asked about, and not out of line with those of the next days.

    Where two disagree and nothing decides, the lighter: a portion for it does less harm.
    """
    heard = [one for one in kept if one.state is not WeighingState.QUESTIONED]
    believed = among_themselves([one for one in heard if one.at - heard[0].at <= FIRST_DAYS])
    return believed[0] if believed else None


def among_themselves(kept: Sequence[WeighingKept]) -> tuple[WeighingKept, ...]:
    """The weighings that follow from one another, where no curve says what to expect."""
    if not kept:
        return ()
    masses = [one.mass_g for one in kept]
    usual = sorted(masses)[(len(masses) - 1) // 2]
    days = [(one.at - kept[0].at) / timedelta(days=1) for one in kept]
    sure = [one.state is WeighingState.CONFIRMED for one in kept]
    out = slips(days, masses, [usual] * len(kept), [0.0] * len(kept), sure)
    return tuple(one for one, wrong in zip(kept, out, strict=True) if not wrong)


def asked_of(record: GrowthKept, age: AgeKnown, kept: Sequence[WeighingKept], on: date | None = None) -> GrowthAsked:
    """The request that a record makes, with some of its weighings; whether it is weaned is as of the last of these."""
    shown = milestones_now(record.milestones)
    told = record.age_estimate
    if age.estimate is not None and age.estimated_on is not None:
        width = age.estimate.high_days - age.estimate.low_days
        told = AgeTold(on=age.estimated_on, days=age.estimate.days, sd_days=width / _WIDTH_90)
    return GrowthAsked(
        weighings=tuple(
            Weighing(
                at=one.at,
                mass_g=one.mass_g,
                context=one.context,
                scale_step_g=one.scale_step_g,
                index=n,
                confirmed=one.state is WeighingState.CONFIRMED,
                questioned=one.state is WeighingState.QUESTIONED,
            )
            for n, one in enumerate(kept)
        ),
        time_zone=record.time_zone,
        hatched_at=record.hatched_at,
        hatched_on=record.hatched_on if age.basis == "hatched_on" else None,
        age_estimate=told if age.basis in {"age_estimate", "estimated"} else None,
        strain=record.strain,
        adult_mass_g=record.adult_mass_g,
        on=on,
        weaning=bool(kept) and being_weaned(record, by=kept[-1].at),
        feathered=any(shown.get(key) for key in FEATHERED),
    )


def being_weaned(record: GrowthKept, *, by: datetime) -> bool:
    """Whether it is being weaned: by what it does, or because it was fed for that in the days before ``by``."""
    shown = milestones_now(record.milestones)
    fed = record.weaning_fed_at
    return any(shown.get(key) for key in WEANING) or (fed is not None and by - fed <= WEANING_FEED_SPEAKS)
