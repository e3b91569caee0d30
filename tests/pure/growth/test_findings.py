"""Findings of practice, by group of birds and by how the bird was weighed."""

import math

import msgspec
import pytest

from api.birds.rules.words import Context
from api.growth.rules.assessment import Status, assess
from api.growth.rules.limits import limits_of
from api.growth.rules.mornings import lost_fraction, one_a_day, without_gain
from species.domain.vocabulary import FoodGuild
from tests.pure.growth.birds import COCKATIEL, TREE_SWALLOW, asked, known
from tests.pure.growth.test_assessment import codes, on_curve


def weighed(rows):
    """A bird's weighings with their contexts."""
    told = asked([(day, mass_g) for day, mass_g, _ in rows])
    return msgspec.structs.replace(
        told,
        weighings=tuple(
            msgspec.structs.replace(weighing, context=context)
            for weighing, (_, _, context) in zip(told.weighings, rows, strict=True)
        ),
    )


def one_of(order, *, family="Testidae", guild=FoodGuild.OMNIVORE, loss_limit=None, fledging=(60, 70)):
    bird = known(order, 1000.0, 0.12, 20.0, adult_g=1000, fledging=fledging, loss_limit=loss_limit)
    profile = msgspec.structs.replace(bird.profile, family=family, food_guild=guild)
    return msgspec.structs.replace(bird, profile=profile)


MORNING, FED = Context.BEFORE_FIRST_FEED, Context.AFTER_FEED


@pytest.mark.parametrize("context", [Context.UNKNOWN, Context.BEFORE_FEED])
def test_a_standstill_is_seen_in_a_bird_weighed_at_every_feed(context):
    """HRB p.599. Three weighings a day must not hide three mornings without gain."""
    days = [*on_curve(5, 13), (13, 46.8), (14, 46.8), (15, 46.8)]
    days[7:] = [(12, 46.8), *days[8:]]
    rows = [
        (day + hour, mass_g * fill, MORNING if hour == 0 else context)
        for day, mass_g in days
        for hour, fill in ((0, 1.0), (0.25, 1.06), (0.5, 1.06))
    ]
    found = assess(COCKATIEL, weighed(rows))
    assert "no_gain" in codes(found)
    assert next(f for f in found.findings if f.code == "no_gain").evidence["mornings"] == 3


def test_an_emptied_crop_is_no_loss():
    """APN: a crop holds up to a tenth of the bird."""
    days = on_curve(10, 16)
    rows = [*[(day, mass_g, MORNING) for day, mass_g in days[:-1]], (15, days[-1][1] * 1.1, FED)]
    found = assess(COCKATIEL, weighed([*rows, (16, days[-1][1] * 1.04, MORNING)]))
    assert codes(found) == []


def test_gain_is_reckoned_between_weighings_made_alike():
    rows = [(5, 20.0, MORNING), (5.3, 22.0, FED), (6, 22.4, MORNING), (6.3, 24.5, FED)]
    found = assess(COCKATIEL, weighed(rows))
    assert [point.gain_g_per_day for point in found.points] == [None, None, pytest.approx(2.4), pytest.approx(2.5)]


def test_a_loss_between_weighings_days_apart_is_a_loss():
    """Tree swallow S049 of the reference data, which died: 13.9 g on day 6, 12.64 g on day 10."""
    found = assess(TREE_SWALLOW, asked([(2, 4.22), (4, 9.54), (6, 13.9), (10, 12.64)]))
    assert codes(found)[0] == "weight_loss"
    assert found.status is Status.LOSING_WEIGHT


def test_before_flight_a_swallow_may_slim_by_a_fifth_and_not_by_two():
    """growth.md section 4: the cliff swallow 26.8 g to 21.0 g, -22 %."""
    rows = [(day, 23.0) for day in range(10, 15)]
    slims = assess(TREE_SWALLOW, asked([*rows, (15, 22.0), (16, 21.0), (17, 20.0), (18, 19.0)]))
    starves = assess(TREE_SWALLOW, asked([*rows, (15, 20.0), (16, 17.0), (17, 13.5)]))
    assert codes(slims) == []
    assert "weight_loss" in codes(starves)
    assert starves.status is Status.LOSING_WEIGHT


def test_no_bird_slims_before_two_thirds_of_nest_life_however_early_its_curve_levels_off():
    """growth.md section 4: peaks at 0.67 to 0.83 of the fledging age. A level curve from day 30 on, flight at 60 d."""
    early = known("Passeriformes", 1000.0, 0.40, 10.0, adult_g=1000, fledging=(60, 70))
    loses = [(day, 1000.0) for day in range(32, 36)]
    assert "weight_loss" in codes(assess(early, asked([*loses, (36, 930.0)])))
    later = [(day + 12, mass_g) for day, mass_g in loses]
    assert codes(assess(early, asked([*later, (48, 930.0)]))) == []


def test_a_chick_that_gains_is_not_slimming_in_the_last_fifth_of_a_wide_band():
    """Flight at 30 to 60 d, four fifths of 30 d is 24 d; the species still gains 4 % a day there."""
    growing = known("Psittaciformes", 1000.0, 0.12, 20.0, adult_g=1000, fledging=(30, 60), loss_limit=0.10)
    rows = [(day, round(1000 / (1 + math.exp(-0.12 * (day - 20))), 1)) for day in range(20, 26)]
    found = assess(growing, asked([*rows, (26, rows[-1][1] * 0.96), (27, rows[-1][1] * 0.93)]))
    assert "weight_loss" in codes(found)
    assert "weaning_loss" not in codes(found)


def test_a_light_bird_is_light_near_fledging_too():
    """Half of what is expected, growing evenly, past four fifths of the fledging age."""
    assert "low_for_age" in codes(assess(COCKATIEL, asked(on_curve(14, 27, times=0.5))))


def test_a_lorys_second_day_without_gain_or_any_loss_before_flight():
    """HRB p.617."""
    lory = one_of("Psittaciformes", guild=FoodGuild.NECTARIVORE)
    parrot = one_of("Psittaciformes")
    loss = [(30, 760.0), (31, 780.0), (32, 764.0)]
    assert "weight_loss" in codes(assess(lory, asked(loss)))
    assert "weight_loss" not in codes(assess(parrot, asked(loss)))
    assert "no_gain" in codes(assess(lory, asked([(25, 640.0), (26, 640.0), (27, 640.0)])))
    late = [(52, 980.0), (53, 980.0), (54, 960.0)]
    assert "weight_loss" in codes(assess(lory, asked(late)))
    assert codes(assess(parrot, asked(late))) == []


def test_a_columbid_on_any_day_without_gain():
    """HRB p.450; two mornings in other birds."""
    still = [(14, 320.0), (15, 340.0), (16, 340.0)]
    assert "no_gain" in codes(assess(one_of("Columbiformes"), asked(still)))
    assert "no_gain" not in codes(assess(one_of("Accipitriformes"), asked(still)))
    assert "no_gain" in codes(assess(one_of("Accipitriformes"), asked([*still, (17, 340.0)])))


def test_a_tenth_up_or_down_is_normal_in_a_heron():
    """HRB p.282."""
    swings = [(14, 330.0), (15, 380.0), (16, 352.0)]
    assert "weight_loss" not in codes(assess(one_of("Pelecaniformes"), asked(swings)))
    assert "weight_loss" in codes(assess(one_of("Accipitriformes"), asked(swings)))


def test_too_fast_a_flamingo_and_a_young_ibis():
    """HRB pp.193-194: more than 20 % a day; p.297: ibis of 21 to 30 days not above 15 %."""
    flamingo = one_of("Phoenicopteriformes")
    assert "rapid_gain" in codes(assess(flamingo, asked([(10, 250.0), (11, 303.0)])))
    assert "rapid_gain" not in codes(assess(flamingo, asked([(10, 250.0), (11, 297.0)])))
    ibis = one_of("Pelecaniformes", family="Threskiornithidae")
    assert "rapid_gain" in codes(assess(ibis, asked([(24, 580.0), (25, 670.0)])))
    assert "rapid_gain" not in codes(assess(ibis, asked([(24, 580.0), (25, 662.0)])))


def test_a_small_parrots_loss_is_urgent():
    """Practice, rule 13, from memory: under 10 days or 20 g."""
    found = assess(COCKATIEL, asked([(5, 12.4), (6, 15.3), (7, 14.4)]))
    assert [(f.code, f.severity.value, f.act_within_h) for f in found.findings][0] == ("weight_loss", "urgent", 1.0)


def test_the_nearest_kind_decides():
    assert limits_of("Passeriformes", "Turdidae", FoodGuild.OMNIVORE).recession_fraction == 0.05
    assert limits_of("Passeriformes", "Passeridae", FoodGuild.OMNIVORE).recession_fraction == 0.19
    assert limits_of("Gruiformes", "Rallidae", FoodGuild.OMNIVORE).sources[0].startswith("TUBE")


def test_strain_without_its_adult_mass_is_said():
    told = msgspec.structs.replace(asked(on_curve(3, 8)), strain="exhibition")
    assert "strain_not_known" in [caution.code for caution in assess(COCKATIEL, told).cautions]
    weighed_too = msgspec.structs.replace(told, adult_mass_g=110.0)
    assert "strain_not_known" not in [caution.code for caution in assess(COCKATIEL, weighed_too).cautions]


class Day:
    """A weighing as the mornings see it."""

    def __init__(self, on, mass_g, context=MORNING, hour=0.0):
        self.on, self.mass_g, self.context, self.age_days = on, mass_g, context, on + hour


def test_the_emptiest_weighing_of_a_day_speaks_for_it():
    fed, empty, later = Day(1, 11.0, FED), Day(1, 10.0, MORNING, 0.4), Day(2, 12.0, FED)
    assert one_a_day([fed, later, empty]) == (empty, later)


def test_what_is_certainly_lost():
    """By hand: 100 g fed may be 90 g empty; 81 g empty is a tenth less. 81 g fed against 100 g empty: 19 %."""
    assert lost_fraction(Day(1, 100.0, FED), Day(2, 81.0)) == pytest.approx(0.10)
    assert lost_fraction(Day(1, 100.0), Day(2, 81.0, FED)) == pytest.approx(0.19)


def test_mornings_without_gain_are_counted_over_gaps():
    days = [Day(1, 10.0), Day(2, 11.0), Day(3, 11.0), Day(6, 11.02)]
    count, began = without_gain(days)
    assert (count, began) == (4, days[1])
    assert without_gain(days[:2]) == (0, days[1])
