"""The last mornings, each with what was known by then; and weighings that somebody has answered for."""

import random
from datetime import UTC, datetime, timedelta

import msgspec
import pytest

from api.birds.rules.words import Context
from api.growth.rules.asked import Weighing
from api.growth.rules.assessment import assess
from api.growth.rules.recent import last_mornings
from tests.pure.growth.birds import COCKATIEL, HATCHED, asked
from tests.pure.growth.test_assessment import codes, on_curve


def told(days_and_grams, *, confirmed=(), questioned=()):
    """Weighings of which some, by place, were answered for or are still asked about."""
    request = asked(days_and_grams)
    return msgspec.structs.replace(
        request,
        weighings=tuple(
            msgspec.structs.replace(w, confirmed=w.index in confirmed, questioned=w.index in questioned)
            for w in request.weighings
        ),
    )


def states(request):
    return {point.index: point.state for point in assess(COCKATIEL, request).points}


GROWING = on_curve(5, 13)
SLIP = [*GROWING[:4], (9, GROWING[4][1] * 10), *GROWING[5:]]


def test_a_confirmed_weight_is_believed_where_a_slip_would_be_asked_about():
    assert states(told(SLIP))[4] == "questioned"
    assert states(told(SLIP, confirmed={4}))[4] == "accepted"


def test_a_confirmed_weight_outweighs_two_that_are_not():
    """Two weights of four times what the third says: another bird's, or one that lost most of itself."""
    days = [(5, GROWING[0][1] * 4), (6, GROWING[1][1] * 4), GROWING[2]]
    assert states(told(days)) == {0: "accepted", 1: "accepted", 2: "questioned"}
    assert states(told(days, confirmed={2})) == {0: "questioned", 1: "questioned", 2: "accepted"}


def test_a_weight_confirmed_by_mistake_silences_no_whole_record():
    """Ten times too much, said to be right: the seven others go on being believed, and the loss after it is heard."""
    assert set(states(told(SLIP, confirmed={4})).values()) == {"accepted"}
    day_after = assess(COCKATIEL, told(SLIP[:6], confirmed={4}))
    assert codes(day_after)[0] == "weight_loss"


def test_two_confirmed_weights_are_both_believed_whatever_they_are():
    assert "questioned" not in states(told([(9, 40.0), (9.5, 400.0)], confirmed={0, 1})).values()


def test_a_confirmed_weight_out_of_line_for_a_day_is_believed_too():
    siblings = [*GROWING[:4], (9, GROWING[4][1] * 1.7), *GROWING[5:]]
    assert states(told(siblings))[4] == "questioned"
    assert states(told(siblings, confirmed={4}))[4] == "accepted"


def test_nothing_is_reckoned_from_a_weight_that_is_asked_about():
    """Even one that fits: somebody doubted it, and nobody has answered."""
    without = assess(COCKATIEL, told([row for n, row in enumerate(GROWING) if n != 4]))
    doubted = assess(COCKATIEL, told(GROWING, questioned={4}))
    assert states(told(GROWING, questioned={4}))[4] == "questioned"
    assert doubted.curve == without.curve
    assert codes(doubted) == ["implausible_weight", *codes(without)]


def test_a_record_all_asked_about_is_no_fault():
    assert set(states(told(GROWING, questioned=set(range(8)))).values()) == {"questioned"}


def test_each_morning_is_judged_with_what_was_known_by_then():
    days = [*GROWING[:6], (11, GROWING[5][1] * 0.9), (12, GROWING[7][1])]
    mornings = last_mornings(COCKATIEL, asked(days))
    assert [morning.on.isoformat() for morning in mornings] == ["2027-04-30", "2027-05-01", "2027-05-02"]
    for morning, known_by_then in zip(mornings, (6, 7, 8), strict=True):
        assert codes(morning.assessment) == codes(assess(COCKATIEL, asked(days[:known_by_then])))
    assert ["weight_loss" in codes(morning.assessment) for morning in mornings] == [False, True, False]


def test_the_last_is_the_whole_assessment():
    request = msgspec.structs.replace(asked(GROWING), on=datetime(2027, 5, 5, tzinfo=UTC).date())
    assert last_mornings(COCKATIEL, request)[-1].assessment == assess(COCKATIEL, request)


def test_the_order_of_arrival_does_not_matter():
    request = asked(GROWING)
    shuffled = list(request.weighings)
    random.Random(4).shuffle(shuffled)  # noqa: S311
    late = msgspec.structs.replace(request, weighings=tuple(shuffled))
    assert last_mornings(COCKATIEL, late) == last_mornings(COCKATIEL, request)


@pytest.mark.parametrize("known", [1, 2, 3])
def test_a_short_record_has_fewer_mornings(known):
    assert len(last_mornings(COCKATIEL, asked(GROWING[:known]))) == known
    assert len(last_mornings(COCKATIEL, asked(GROWING[:known]), mornings=1)) == 1


def test_a_morning_whose_weights_are_all_asked_about_is_told_beside_the_others():
    mornings = last_mornings(COCKATIEL, asked([*GROWING, (13, 700.0)]))
    assert [morning.judged for morning in mornings] == [True, True, True, False]
    assert codes(mornings[-1].assessment)[0] == "implausible_weight"
    earlier = last_mornings(COCKATIEL, asked([*GROWING[:6], (11, 700.0), *GROWING[7:]]))
    assert [(morning.on.day, morning.judged) for morning in earlier] == [(29, True), (30, True), (2, True)]


def test_a_morning_ends_with_the_local_day():
    """23:30 and 00:30 of Lisbon's summer are 22:30 and 23:30 UTC: two days there, one in UTC."""
    base = asked(GROWING)
    evening = datetime(2027, 5, 3, 22, 30, tzinfo=UTC)
    weighings = (
        *base.weighings,
        Weighing(at=evening, mass_g=42.0, context=Context.BEFORE_FEED, index=8),
        Weighing(at=evening + timedelta(hours=1), mass_g=42.2, context=Context.BEFORE_FEED, index=9),
    )
    lisbon = msgspec.structs.replace(base, weighings=weighings, time_zone="Europe/Lisbon")
    assert [m.on.day for m in last_mornings(COCKATIEL, lisbon)] == [2, 3, 4]
    assert [m.on.day for m in last_mornings(COCKATIEL, msgspec.structs.replace(lisbon, time_zone="Etc/UTC"))] == [
        1,
        2,
        3,
    ]


def test_the_emptiest_weighing_speaks_for_a_morning_and_a_fed_one_makes_no_new_one():
    def contexts(request, *added):
        rows = [(day, mass_g, Context.BEFORE_FIRST_FEED) for day, mass_g in GROWING]
        rows += added
        weighings = asked([(day, mass_g) for day, mass_g, _ in rows]).weighings
        told = [msgspec.structs.replace(w, context=row[2]) for w, row in zip(weighings, rows, strict=True)]
        return msgspec.structs.replace(request, weighings=tuple(told))

    base = asked(GROWING)
    morning, fed = contexts(base), contexts(base, (12.3, GROWING[-1][1] * 1.08, Context.AFTER_FEED))
    assert last_mornings(COCKATIEL, fed)[-1].at == last_mornings(COCKATIEL, morning)[-1].at == base.weighings[-1].at
    later = contexts(base, (13.1, 41.0, Context.UNKNOWN), (13.3, 42.0, Context.BEFORE_FEED))
    assert last_mornings(COCKATIEL, later)[-1].at == HATCHED + timedelta(days=13.3)
