"""From a record to what is judged: which weighings count, how old the bird is, whether it is weaned."""

from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import msgspec
import pytest

from api.birds.rules.words import Context, WeighingState
from api.growth.rules.asked import AgeTold
from api.growth.rules.assessment import assess
from api.growth.rules.record import GrowthKept, MilestoneKept, WeighingKept
from api.growth.rules.stored import among_themselves, judged_by
from species.domain.errors import ConflictError
from species.domain.growth_curve import GrowthCurve
from species.domain.milestone import Milestone
from species.domain.sourcing import Band, Reach
from species.domain.vocabulary import MilestoneKey
from tests.pure.growth.birds import COCKATIEL, HATCHED

#: What a cockatiel of the curve of growth.md section 3 weighs on its days 3 to 12.
GRAMS = (8.3, 10.1, 12.3, 14.9, 18.0, 21.5, 25.5, 29.9, 34.7, 39.8)


def kept(grams=GRAMS, *, from_day=3.0, states=None, **told) -> GrowthKept:
    states = states or {}
    weighings = tuple(
        WeighingKept(
            uid=UUID(int=n + 1),
            at=HATCHED + timedelta(days=from_day + n),
            mass_g=gram,
            context=Context.BEFORE_FIRST_FEED,
            state=states.get(n, WeighingState.ACCEPTED),
        )
        for n, gram in enumerate(grams)
    )
    return GrowthKept(**{"time_zone": "Etc/UTC", "hatched_on": date(2027, 4, 20), "weighings": weighings, **told})


def states_of(record: GrowthKept) -> dict[float, str]:
    return {point.mass_g: point.state for point in assess(COCKATIEL, judged_by(COCKATIEL, record).asked).points}


def test_a_rejected_weighing_is_gone_a_questioned_one_is_shown_and_not_used_a_confirmed_one_is_believed():
    told = {
        2: WeighingState.REJECTED,
        5: WeighingState.QUESTIONED,
        9: WeighingState.CONFIRMED,
    }
    grams = (*GRAMS[:9], 6.0)  # a tenth of what is expected, and somebody looked twice
    found = states_of(kept(grams, states=told))
    assert GRAMS[2] not in found
    assert found[GRAMS[5]] == "questioned"
    assert found[6.0] == "accepted"


def test_a_slip_that_nobody_has_asked_about_yet_is_asked_about_here():
    assert states_of(kept((*GRAMS[:9], 398.0)))[398.0] == "questioned"


def test_the_index_of_a_weighing_is_its_place_among_those_kept():
    record = kept(states={0: WeighingState.REJECTED})
    judged = judged_by(COCKATIEL, record)
    assert [one.index for one in judged.asked.weighings] == list(range(9))
    assert [one.uid.int for one in judged.kept] == list(range(2, 11))


def test_without_a_weighing_there_is_nothing_to_judge():
    for states in ({}, dict.fromkeys(range(3), WeighingState.REJECTED)):
        with pytest.raises(ConflictError) as refused:
            judged_by(COCKATIEL, kept(GRAMS[: len(states)], states=states))
        assert refused.value.code == "no_weighings"
        assert "POST /api/v1/weighings" in str(refused.value)


def test_of_a_long_record_the_last_400_are_used_and_that_is_said():
    grams = [30.0] * 401
    record = msgspec.structs.replace(kept(), weighings=kept(grams, from_day=20.0).weighings)
    judged = judged_by(COCKATIEL, record)
    assert len(judged.asked.weighings) == 400
    assert judged.kept[0].uid == UUID(int=2)
    assert [caution.code for caution in judged.cautions] == ["older_weighings_left_out"]


def test_what_was_weighed_before_it_hatched_is_left_out_and_that_is_said():
    judged = judged_by(COCKATIEL, kept(from_day=-2.0))
    assert [one.uid.int for one in judged.kept] == list(range(3, 11))
    assert [caution.code for caution in judged.cautions] == ["weighed_before_hatching"]
    with pytest.raises(ConflictError) as refused:
        judged_by(COCKATIEL, kept(GRAMS[:2], from_day=-5.0))
    assert refused.value.code == "weighed_before_hatching"


@pytest.mark.parametrize(
    ("told", "basis"),
    [
        ({"hatched_at": HATCHED, "hatched_on": None}, "hatched_at"),
        ({"hatched_on": None, "age_estimate": AgeTold(on=date(2027, 4, 24), days=4.0, sd_days=2.0)}, "age_estimate"),
        ({}, "hatched_on"),
    ],
)
def test_the_age_that_was_told_is_taken(told, basis):
    judged = judged_by(COCKATIEL, kept(**told))
    assert judged.age.basis == basis
    assert judged.age.estimate is None
    assert judged.cautions == judged.basis == ()
    for word in ("hatched_at", "hatched_on", "age_estimate"):
        assert (getattr(judged.asked, word) is not None) is (word == basis)


def test_an_age_that_nobody_told_is_estimated_from_the_first_weight_and_that_is_said():
    judged = judged_by(COCKATIEL, kept(hatched_on=None))
    assert judged.age.basis == "estimated"
    # 8.3 g lies on the curve at day 3; mass alone tells a hatchling's age within two days of the truth.
    assert judged.age.estimate.days == pytest.approx(3.0, abs=2.0)
    assert judged.age.estimated_on == date(2027, 4, 23)
    assert judged.asked.age_estimate.days == judged.age.estimate.days
    assert {"age_estimated", "age_from_mass_alone"} <= {caution.code for caution in judged.cautions}
    assert {entry.field for entry in judged.basis} == {
        "/age/estimate/days", "/age/estimate/low_days", "/age/estimate/high_days",
    }  # fmt: skip


def test_a_bird_that_falls_behind_does_not_grow_younger():
    standing_still = kept((*GRAMS[:5], 18.0, 18.0, 18.0, 18.0, 18.0), hatched_on=None)
    thriving = kept(hatched_on=None)
    ages = {judged_by(COCKATIEL, record).age.estimate.days for record in (standing_still, thriving)}
    assert len(ages) == 1
    found = assess(COCKATIEL, judged_by(COCKATIEL, standing_still).asked).findings
    assert "no_gain" in {finding.code for finding in found}


@pytest.mark.parametrize(
    ("grams", "believed"),
    [
        ((83.0, 8.4, 8.6, 9.9), 8.4),
        ((0.83, 8.4, 8.6, 9.9), 8.4),
        ((83.0, 8.4), 8.4),
        ((8.3, 84.0), 8.3),
    ],
    ids=["ten-times", "a-tenth", "two-and-the-first-heavy", "two-and-the-second-heavy"],
)
def test_a_slip_at_the_start_does_not_tell_the_age(grams, believed):
    judged = judged_by(COCKATIEL, kept(grams, hatched_on=None))
    assert judged.age.estimate.basis[0].inputs["mass"]["mass_g"] == believed


def test_among_themselves_weighings_need_no_curve():
    record = kept((8.3, 9.0, 97.0, 10.4))
    assert [one.mass_g for one in among_themselves(record.weighings)] == [8.3, 9.0, 10.4]
    assert among_themselves(()) == ()


def with_milestones():
    def seen(key: MilestoneKey, low: float, high: float) -> Milestone:
        return Milestone(key=key, seen_days=Band(low=low, high=high, reach=Reach.SPECIES, sources=("TEST",)))

    profile = msgspec.structs.replace(
        COCKATIEL.profile, milestones=(seen(MilestoneKey.EYES_OPEN, 9, 11), seen(MilestoneKey.PINS_VISIBLE, 12, 14))
    )
    assert isinstance(profile.growth_curve, GrowthCurve)
    return msgspec.structs.replace(COCKATIEL, profile=profile)


def observed(key: MilestoneKey, day: float, *, seen: bool = True) -> MilestoneKept:
    return MilestoneKept(key=key, seen=seen, observed_at=HATCHED + timedelta(days=day))


def test_what_it_showed_on_that_day_tells_its_age_too_and_what_it_showed_later_does_not():
    species = with_milestones()
    shown = (observed(MilestoneKey.EYES_OPEN, 3.2), observed(MilestoneKey.PINS_VISIBLE, 9.0))
    judged = judged_by(species, kept(hatched_on=None, milestones=shown))
    assert judged.age.estimate.used == ("mass", "eyes_open")
    alone = judged_by(species, kept(hatched_on=None))
    assert judged.age.estimate.days > alone.age.estimate.days


def test_a_step_that_came_in_its_first_days_here_tells_its_age_by_when_it_came():
    """Eyes (9 to 11 d) shut at the first weighing, open two days later: older than if they stayed shut, by the page."""
    species = with_milestones()
    came = (observed(MilestoneKey.EYES_OPEN, 9.0, seen=False), observed(MilestoneKey.EYES_OPEN, 11.0))
    stayed = (observed(MilestoneKey.EYES_OPEN, 9.0, seen=False), observed(MilestoneKey.EYES_OPEN, 11.0, seen=False))
    opened, shut = (
        judged_by(species, kept(GRAMS[6:], from_day=9.0, hatched_on=None, milestones=shown)).age.estimate
        for shown in (came, stayed)
    )
    assert opened.used == shut.used == ("mass", "eyes_open")
    [told] = opened.basis[0].inputs["milestones"]
    assert (told["not_yet_days"], told["seen_days"]) == (0.0, 2.0)
    assert shut.days + 0.5 < opened.days < 11
    assert opened.low_days > shut.low_days


def test_a_weight_that_no_such_bird_has_leaves_the_age_to_what_it_shows():
    shown = (observed(MilestoneKey.EYES_OPEN, 3.2),)
    judged = judged_by(with_milestones(), kept((900.0,), hatched_on=None, milestones=shown))
    assert judged.age.estimate.used == ("eyes_open",)


@pytest.mark.parametrize(
    ("told", "weaning", "feathered"),
    [
        ({}, False, False),
        ({"milestones": (observed(MilestoneKey.SELF_FEEDS_SOME, 9),)}, True, False),
        (
            {
                "milestones": (
                    observed(MilestoneKey.SELF_FEEDS_SOME, 9),
                    observed(MilestoneKey.SELF_FEEDS_SOME, 11, seen=False),
                )
            },
            False,
            False,
        ),
        ({"milestones": (observed(MilestoneKey.BODY_FEATHERED, 9),)}, False, True),
        ({"weaning_fed_at": datetime(2027, 5, 1, 9, 0, tzinfo=UTC)}, True, False),
        ({"weaning_fed_at": datetime(2027, 4, 27, 9, 0, tzinfo=UTC)}, False, False),
    ],
    ids=["nothing", "picks-up-food", "no-longer", "feathered", "fed-to-be-weaned", "long-ago"],
)
def test_whether_it_is_weaned_and_feathered(told, weaning, feathered):
    asked = judged_by(COCKATIEL, kept(**told)).asked
    assert (asked.weaning, asked.feathered) == (weaning, feathered)
