"""What holds of every plan, whatever the bird: searched over profiles, ages, masses, powders and feeding days."""

from datetime import UTC, date, datetime, time

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.kitchen.rules.powders import Powder
from api.plans.rules.request import FeedingDay, PlanRequest
from api.plans.rules.syringe import SYRINGES_ML
from species.domain.errors import DomainError
from tests.safety.birds import plan_for, profiles, well

NOW = datetime(2027, 5, 2, 9, 0, tzinfo=UTC)
ZONES = ("Europe/Lisbon", "Australia/Lord_Howe", "America/St_Johns")
#: Both clock changes of 2027 in each zone, and a day without one.
DAYS = (
    date(2027, 3, 28),
    date(2027, 10, 31),
    date(2027, 4, 4),
    date(2027, 10, 3),
    date(2027, 3, 14),
    date(2027, 11, 7),
    date(2027, 6, 1),
)


@st.composite
def fed_plans(draw, profile):
    """A plan with a feed, or nothing where the drawn bird cannot be."""
    age_days = draw(st.floats(0.5, 60.0))
    share = draw(st.floats(0.35, 1.3))
    adult_g = profile.masses.adult_g.value
    mass_g = round(adult_g * share * min(1.0, 0.1 + age_days / 30), 1)
    first, last = draw(st.sampled_from([(time(6), time(22)), (time(7), time(21)), (time(5), time(0, 30))]))
    powder = draw(
        st.none()
        | st.builds(
            Powder,
            dry_matter_fraction=st.floats(0.88, 0.97),
            energy_kj_per_g_dm=st.floats(13.0, 22.0),
        )
    )
    request = PlanRequest(
        on=draw(st.sampled_from(DAYS)),
        time_zone=draw(st.sampled_from(ZONES)),
        age_days=age_days,
        mass_g=mass_g,
        feeding_day=FeedingDay(first=first, last=last),
        powder=powder if profile.default_formula else None,
        condition=well(profile),
        first_feed_in_care=draw(st.sampled_from([None, True, False])),
    )
    try:
        return request, plan_for(profile, request, now=NOW)
    except DomainError as refused:
        if refused.code != "implausible_weight":
            raise
        return request, None


FED = [pytest.param(p, id=p.key) for p in profiles() if p.feeding_kind.value != "self_feeding"]


@pytest.mark.parametrize("profile", FED)
def test_planned_energy_is_amount_times_density_times_feeds(profile):
    @settings(max_examples=60, deadline=None)
    @given(fed_plans(profile))
    def holds(drawn):
        _, plan = drawn
        if plan is None or plan.feed is None:
            return
        feed = plan.feed
        if feed.portion == "slurry":
            planned = feed.volume_ml * plan.formula.energy_kj_per_ml * feed.feeds_per_day
        else:
            density = next(e.inputs["food_kj_per_g"] for e in plan.basis if e.field == "/energy/planned_kj_per_day")
            planned = feed.mass_g * density * feed.feeds_per_day
        assert plan.energy.planned_kj_per_day == pytest.approx(planned, abs=0.051)  # shown to 0.1 kJ

    holds()


@pytest.mark.parametrize("profile", FED)
def test_rounding_never_leaves_a_band(profile):
    @settings(max_examples=60, deadline=None)
    @given(fed_plans(profile))
    def holds(drawn):
        _, plan = drawn
        if plan is None or plan.feed is None:
            return
        feed = plan.feed
        if feed.portion == "slurry":
            # A band narrower than a syringe's finest mark gives the mark just below its top.
            assert feed.low_ml - 0.01 <= feed.volume_ml <= feed.high_ml + 1e-9
            assert any(abs(feed.volume_ml / step - round(feed.volume_ml / step)) < 1e-6 for _, step in SYRINGES_ML)
            assert plan.formula.low_fraction <= plan.formula.dry_matter_fraction <= plan.formula.high_fraction
        else:
            assert feed.low_g <= feed.mass_g <= feed.high_g
        assert feed.interval_low_min <= feed.interval_min <= feed.interval_high_min
        assert len(plan.timetable) == feed.feeds_per_day

    holds()


@pytest.mark.parametrize("profile", FED)
def test_timetable_keeps_its_intervals_through_clock_changes(profile):
    @settings(max_examples=60, deadline=None)
    @given(fed_plans(profile))
    def holds(drawn):
        request, plan = drawn
        if plan is None or plan.feed is None:
            return
        instants = [datetime.fromisoformat(text) for text in plan.timetable]
        assert instants == sorted(set(instants))
        by_day = instants[: len(instants) - plan.feed.night_feeds]
        waits = [(b - a).total_seconds() / 60 for a, b in zip(by_day, by_day[1:], strict=False)]
        assert all(plan.feed.interval_low_min <= wait <= plan.feed.interval_high_min for wait in waits), waits
        assert (instants[-1] - instants[0]).total_seconds() < 26 * 3600
        assert instants[0].date() == request.on

    holds()


@pytest.mark.parametrize("profile", FED)
def test_same_input_same_bytes(profile):
    @settings(max_examples=20, deadline=None)
    @given(fed_plans(profile))
    def holds(drawn):
        request, plan = drawn
        if plan is not None:
            assert msgspec.json.encode(plan_for(profile, request, now=NOW)) == msgspec.json.encode(plan)

    holds()
