"""The worked examples of docs/methods, computed by hand there and typed again here.

A number below stands in the page named by the test. Whoever changes a rule finds the page that has to change with it.
"""

from datetime import timedelta
from math import exp, log, nan, sqrt

import numpy as np
import pytest
from scipy.integrate import quad

from api.alerts.rules import answering
from api.alerts.rules.growth import growth_looks
from api.alerts.rules.hysteresis import OpenAlert, transitions
from api.catalog.rules import unlisted
from api.growth.rules.recent import last_mornings
from api.plans.rules import (
    ageing,
    expecting,
    feeding_day,
    first_steps,
    gate,
    intake,
    need,
    seen,
    slurry_feed,
    solids,
    staging,
    syringe,
    timetable,
    weaning,
)
from api.web.rules.cautions import Severity
from species.biology import cusum, energy, food_energy, growth_forms, population
from species.domain.errors import DomainError
from species.domain.sourcing import Band, Reach
from species.domain.stage import Ages, Stage
from tests.pure.growth.birds import COCKATIEL, HATCHED, asked

PIGEON = {"form": "logistic", "asymptote_g": 326.0, "rate_per_day": 0.28, "inflection_days": 10.78}
PIGEONS_DIFFER = {
    "log_asymptote_sd": 0.055,
    "log_rate_sd": 0.126,
    "inflection_sd_days": 1.58,
    "residual_log_sd": 0.055,
}
DAY_9 = {"mass_g": 118.0, "age_days": 9.0}


class TestGrowth:
    """docs/methods/growth.md."""

    def test_expected_mass_and_its_band_on_day_9(self):
        assert expecting.expected_mass_g(age_days=9.0, **PIGEON) == 123.2
        spread = population.log_mass_sd("logistic", 9.0, 0.28, 10.78, **PIGEONS_DIFFER)
        assert spread == pytest.approx(0.28865, abs=5e-6)
        for centile, mass_g in ((3.0, 71.6), (97.0, 212.0)):
            told = expecting.mass_at_centile_g(centile=centile, age_days=9.0, **PIGEON, **PIGEONS_DIFFER)
            assert told == mass_g
        assert expecting.centile_of_mass(**DAY_9, **PIGEON, **PIGEONS_DIFFER) == 44.1

    def test_tomorrows_gain_is_the_birds_own(self):
        assert growth_forms.mass_g("logistic", 10.0, 326.0, 0.28, 10.78) == pytest.approx(145.27, abs=0.005)
        assert expecting.next_day_gain_g(**DAY_9, **PIGEON) == 21.1

    def test_age_from_mass_with_its_interval(self):
        assert ageing.age_from_mass_days(mass_g=118.0, **PIGEON) == 8.8
        ends = [ageing.age_end_days(age_days=8.8, sign=sign, **PIGEON, **PIGEONS_DIFFER) for sign in (-1, 1)]
        assert ends == [6.1, 11.5]

    def test_nine_tenths_of_the_asymptote_tell_no_age(self):
        with pytest.raises(DomainError) as refused:
            ageing.age_from_mass_days(mass_g=0.9 * 326.0, **PIGEON)
        assert refused.value.code == "age_not_told_by_mass"


class TestCusum:
    """docs/methods/cusum.md."""

    def test_six_low_scores_and_a_gap(self):
        scores = [[0.3, -0.9, -1.6, nan, -1.8, -2.1, -1.2]]
        fallen = cusum.cusum(scores, None, 0.5, cusum.limit_for(0.5, 0.05, 30))
        assert fallen.sums[0] == pytest.approx([0.0, 0.4, 1.5, 1.5, 2.8, 4.4, 5.1])
        assert (fallen.alarm_at[0], fallen.rising_from[0]) == (5, 1)

    def test_two_weighings_by_simpson(self):
        at_once, within_two = cusum.run_length_distribution(0.5, 1.0, 2)
        assert at_once == pytest.approx(0.0668, abs=5e-5)
        assert within_two == pytest.approx(0.0668 + 0.0462 + 0.0362, abs=2e-4)

    def test_average_run_beside_siegmunds_approximation(self):
        b = 4.38 + 1.166
        assert (exp(b) - b - 1.0) / (2.0 * 0.5**2) == pytest.approx(499.0, abs=0.5)
        assert cusum.run_length(0.5, 4.38) == pytest.approx(495.0, abs=0.5)

    @pytest.mark.parametrize(
        ("weighings", "flagged", "limit", "healthy", "falling"),
        [
            (20, 0.05, 3.94, 314, (26.0, 8.3, 4.7, 3.3)),
            (30, 0.05, 4.38, 495, (30.7, 9.1, 5.1, 3.6)),
            (60, 0.05, 5.12, 1055, (39.6, 10.6, 5.9, 4.1)),
            (30, 0.01, 5.87, 2237, (49.5, 12.1, 6.6, 4.6)),
        ],
    )
    def test_table_of_limits(self, weighings, flagged, limit, healthy, falling):
        h = cusum.limit_for(0.5, flagged, weighings)
        assert h == pytest.approx(limit, abs=0.005)
        assert cusum.run_length(0.5, h) == pytest.approx(healthy, abs=0.5)
        for shift, length in zip((-0.5, -1.0, -1.5, -2.0), falling, strict=True):
            assert cusum.run_length(0.5, h, shift) == pytest.approx(length, abs=0.051)

    def test_scores_that_are_nearly_standard(self):
        """A standard deviation of s is a chart of k/s and h/s."""
        h = cusum.limit_for(0.5, 0.05, 30)
        for mean, flagged in ((-0.15, 0.134), (0.15, 0.016)):
            assert cusum.alarm_probability(0.5, h, 30, mean) == pytest.approx(flagged, abs=5e-4)
        for sd, flagged in ((0.92, 0.024), (1.10, 0.101)):
            assert cusum.alarm_probability(0.5 / sd, h / sd, 30) == pytest.approx(flagged, abs=5e-4)

    @pytest.mark.parametrize(("echo", "flagged"), [(0.1, 0.085), (0.4, 0.23)])
    def test_scores_that_echo(self, echo, flagged):
        """100,000 birds, first-order autoregression, seed 44; rounding and 4 standard errors."""
        fresh = np.random.default_rng(44).standard_normal((100_000, 30))
        for before in range(29):
            fresh[:, before + 1] = echo * fresh[:, before] + sqrt(1.0 - echo**2) * fresh[:, before + 1]
        seen = cusum.cusum(fresh, None, 0.5, cusum.limit_for(0.5, 0.05, 30)).alarmed.mean()
        assert abs(seen - flagged) < 0.005 + 4.0 * sqrt(flagged * (1.0 - flagged) / 100_000)


class TestEnergy:
    """docs/methods/energy.md."""

    def test_need_of_a_pigeon_on_day_9(self):
        told = need.need_kj_per_day(
            **DAY_9, **PIGEON, fledging_days=33.5, equation="weathers", thermoneutral_share=0.75
        )
        assert told == 287.1
        ends = [need.need_bound_kj_per_day(need_kj_per_day=told, scatter_fraction=each) for each in (-0.30, 0.30)]
        assert ends == [201.0, 373.2]

    def test_steps_on_the_way(self):
        total = energy.weathers_total_kj(325.44, 33.5)
        assert total == pytest.approx(11_123, abs=1)
        assert 0.75 * total == pytest.approx(8342.3, abs=0.5)
        coefficient = energy.maintenance_coefficient("logistic", 326.0, 0.28, 10.78, 33.5, 11_123.1176, 0.75)
        assert coefficient == pytest.approx(3.0716, abs=5e-5)
        assert energy.growth_cost_kj_per_day(118.0, 20.554, 326.0) == pytest.approx(191.8, abs=0.05)

    def test_days_add_up_to_the_share_of_the_whole(self):
        """Written out here: the curve and its slope, maintenance and growth, by SciPy's quadrature."""

        def mass(day):
            return 326.0 / (1.0 + exp(-0.28 * (day - 10.78)))

        def need_on(day):
            m = mass(day)
            gain = 0.28 * m * (1.0 - m / 326.0)
            return 3.0716 * m**0.72 + (3.51 + 9.64 * m / 326.0) * gain / 0.75

        assert quad(lambda day: mass(day) ** 0.72, 0.0, 33.5)[0] == pytest.approx(1564.99, abs=0.01)
        assert quad(need_on, 0.0, 33.5)[0] == pytest.approx(8342.3, abs=0.5)

    def test_clinical_band_and_what_is_fed_for(self):
        low = need.clinical_low_kj_per_day(mass_g=118.0, passerine=False)
        assert (low, need.clinical_high_kj_per_day(mass_g=118.0, passerine=False)) == (147.8, 295.7)
        assert need.target_kj_per_day(need_kj_per_day=287.1, clinical_low_kj_per_day=low) == 287.1
        assert need.target_kj_per_day(need_kj_per_day=120.0, clinical_low_kj_per_day=low) == 147.8

    def test_powder_from_its_label_reads_carbohydrate_as_sugar(self):
        powder = {"water": 0.08, "protein": 0.20, "fat": 0.10, "carbohydrate": 0.55, "fibre": 0.03, "ash": 0.04}
        assert food_energy.composition_energy_kj_per_g_dm(powder) == pytest.approx(14.88, abs=0.005)


class TestIntake:
    """docs/methods/intake.md."""

    POWDER = {"energy_kj_per_g_dm": 16.9, "solids_ml_per_g": 0.7056, "water_ml_per_g": 1.00784}
    MIX = {"solids_ml_per_g": 0.7056, "water_ml_per_g": 1.00784}

    def test_band_of_a_feed(self):
        band = intake.volume_band_ml(
            mass_g=118.0,
            low_fraction=0.075,
            usual_fraction=0.0875,
            high_fraction=0.10,
            cap_fraction=0.10,
            printed_low_ml=None,
            printed_high_ml=None,
            care="routine",
        )
        assert (band.low_ml, band.high_ml) == (8.85, 11.8)
        assert band.usual_ml == pytest.approx(10.325)

    @pytest.mark.parametrize(
        ("care", "low_ml", "high_ml"),
        [("emaciated", 1.18, 3.54), ("first_day", 8.26, 9.44), ("slow_crop", 8.85, 10.32)],
    )
    def test_care_narrows_the_band(self, care, low_ml, high_ml):
        """1 to 3 %, 7 to 8 %, up to the usual 8.75 % of 118 g; a third of 11.8 mL is 3.93 and does not bind."""
        band = intake.volume_band_ml(
            mass_g=118.0,
            low_fraction=0.075,
            usual_fraction=0.0875,
            high_fraction=0.10,
            cap_fraction=0.10,
            printed_low_ml=None,
            printed_high_ml=None,
            care=care,
        )
        assert (band.low_ml, band.high_ml) == (low_ml, high_ml)

    def test_number_of_feeds(self):
        feeds = intake.feeds_range(
            window_min=840,
            interval_low_min=120,
            interval_usual_min=180,
            interval_high_min=240,
            feeds_low=None,
            feeds_usual=None,
            feeds_high=None,
        )
        assert (feeds.low, feeds.usual, feeds.high) == (5, 6, 8)

    def test_choice(self):
        choice = intake.slurry_choice(
            low_ml=8.85,
            usual_ml=10.325,
            high_ml=11.8,
            feeds_low=5,
            feeds_usual=6,
            feeds_high=8,
            night_feeds=0,
            dry_matter_low=0.20,
            dry_matter_usual=0.22,
            dry_matter_high=0.24,
            **self.POWDER,
            need_kj_per_day=287.1,
            ceiling_kj_per_day=373.2,
            hold_volume=False,
        )
        assert (choice.volume_ml, choice.day_feeds, choice.dry_matter_fraction) == (10.0, 8, 0.22)
        assert choice.planned_kj_per_day == 316.0
        assert choice.remedies == ("one_more_feed",)
        assert choice.need_met

    def test_energy_of_a_millilitre_and_what_goes_into_a_feed(self):
        assert intake.slurry_energy_kj_per_ml(dry_matter_fraction=0.22, **self.POWDER) == 3.95
        feed = {"volume_ml": 10.0, "dry_matter_fraction": 0.22, "powder_dry_matter_fraction": 0.92, **self.MIX}
        assert slurry_feed.powder_per_feed_g(**feed) == 2.54
        assert slurry_feed.water_per_feed_ml(**feed) == 8.15
        assert intake.percent_of_mass(amount=10.0, mass_g=118.0) == 8.5

    def test_on_a_mark(self):
        assert syringe.on_a_mark_ml(volume_ml=10.325, low_ml=8.85, high_ml=11.8) == 10.0
        assert syringe.syringe_ml(volume_ml=10.0) == 10.0


class TestSolids:
    """docs/methods/solids.md."""

    NOTHING_PRINTED = {
        "piece_mass_g": None,
        "pieces_low": None,
        "pieces_usual": None,
        "pieces_high": None,
        "meal_low_fraction": None,
        "meal_usual_fraction": None,
        "meal_high_fraction": None,
        "daily_low_fraction": None,
        "daily_usual_fraction": None,
        "daily_high_fraction": None,
        "need_kj_per_day": None,
        "need_low_kj_per_day": None,
        "need_high_kj_per_day": None,
        "ceiling_kj_per_day": None,
        "light": False,
        "limit_fraction": None,
    }

    def meal(self, **told):
        return solids.meal_g(**{**self.NOTHING_PRINTED, **told})

    def test_heron_by_share_of_mass_in_a_meal(self):
        meal = self.meal(
            mass_g=1500.0,
            meals=4,
            food_kj_per_g=4.18,
            meal_low_fraction=0.054,
            meal_usual_fraction=0.065,
            meal_high_fraction=0.20,
            need_kj_per_day=1800.0,
            need_low_kj_per_day=1260.0,
            need_high_kj_per_day=2340.0,
            ceiling_kj_per_day=2340.0,
        )
        assert (meal.mass_g, meal.low_g, meal.high_g) == (108.0, 81.0, 300.0)
        assert solids.daily_kj(mass_g=108.0, food_kj_per_g=4.18, meals=4) == 1805.8

    def test_owl_by_share_of_mass_in_a_day(self):
        meal = self.meal(
            mass_g=340.0,
            meals=4,
            food_kj_per_g=7.11,
            daily_low_fraction=0.149,
            daily_usual_fraction=0.199,
            daily_high_fraction=0.25,
        )
        assert (meal.mass_g, meal.low_g, meal.high_g) == (16.9, 12.7, 21.2)

    SWIFT = {
        "meals": 14,
        "food_kj_per_g": 7.5,
        "piece_mass_g": 0.15,
        "pieces_low": 6.0,
        "pieces_usual": 7.0,
        "pieces_high": 12.0,
    }
    NEED = {
        "need_kj_per_day": 150.0,
        "need_low_kj_per_day": 105.0,
        "need_high_kj_per_day": 195.0,
        "ceiling_kj_per_day": 195.0,
    }

    def test_swift_by_pieces(self):
        meal = self.meal(mass_g=30.0, **self.SWIFT)
        assert (meal.count, meal.mass_g, meal.low_g, meal.high_g) == (7, 1.05, 0.9, 1.8)

    def test_swift_gets_more_pieces_for_its_need(self):
        meal = self.meal(mass_g=30.0, **self.SWIFT, **self.NEED)
        assert (meal.count, meal.mass_g) == (10, 1.5)

    def test_emaciated_swift_gets_fewer_than_printed(self):
        meal = self.meal(mass_g=20.0, **{**self.SWIFT, "light": True, "limit_fraction": 0.03})
        assert (meal.count, meal.mass_g) == (4, 0.6)

    def test_by_the_need_where_nothing_is_printed(self):
        meal = self.meal(
            mass_g=60.0,
            meals=6,
            food_kj_per_g=6.5,
            need_kj_per_day=130.0,
            need_low_kj_per_day=91.0,
            need_high_kj_per_day=169.0,
        )
        assert (meal.mass_g, meal.low_g, meal.high_g) == (3.33, 2.34, 4.33)
        assert meal.from_energy

    def test_nothing_is_guessed(self):
        with pytest.raises(DomainError) as refused:
            self.meal(mass_g=60.0, meals=6, food_kj_per_g=6.5)
        assert refused.value.code == "no_amount_known"


OPENS_LAST = ["fully_feathered", "first_flight", "self_feeds_some"]
STAGES = [
    {"key": "squab", "from_day": 0, "to_day": 4, "opens_with": []},
    {"key": "unfeathered", "from_day": 4, "to_day": 7, "opens_with": []},
    {"key": "nestling", "from_day": 7, "to_day": 14, "opens_with": ["pins_unsheathing"]},
    {"key": "feathering", "from_day": 14, "to_day": 21, "opens_with": ["body_feathered"]},
    {"key": "fledgling", "from_day": 21, "to_day": None, "opens_with": OPENS_LAST},
]


class TestStaging:
    """docs/methods/staging.md."""

    @pytest.mark.parametrize(
        ("age_days", "shown", "absent", "key"),
        [
            (9, [], [], "nestling"),
            (9, [], ["pins_unsheathing"], "unfeathered"),
            (6, ["pins_unsheathing"], [], "nestling"),
            (23, [], ["fully_feathered"], "fledgling"),
            (23, [], OPENS_LAST, "feathering"),
        ],
    )
    def test_stage(self, age_days, shown, absent, key):
        assert staging.stage_key(age_days=age_days, stages=STAGES, seen=shown, absent=absent) == key

    @pytest.mark.parametrize(("mass_g", "phase"), [(305.0, "stepping_down"), (303.0, "step_back")])
    def test_weaning_goes_by_the_scale(self, mass_g, phase):
        told = weaning.weaning_phase(
            self_feeding_kind=False,
            age_days=30.0,
            earliest_day=21.0,
            seen=["self_feeds_some"],
            absent=[],
            mass_g=mass_g,
            peak_mass_g=320.0,
            loss_limit_fraction=0.05,
            self_feeding_mass_g=250.0,
        )
        assert told == phase

    def test_feeding_day_of_eighteen_hours_ends_at_midnight(self):
        stage = Stage(
            key="a",
            name="A",
            ages=Ages(from_day=0, reach=Reach.GROUP, sources=("APN feeding day",)),
            feeding_day_h=Band(low=18, high=18, reach=Reach.GROUP, sources=("APN feeding day",)),
        )
        day = feeding_day.feeding_day_of(stage, None)
        assert (day.first.isoformat("minutes"), day.last.isoformat("minutes")) == ("06:00", "00:00")


WELL: seen.Seen = {
    "identified": True,
    "guild_has_practice": True,
    "species_certainty": "certain",
    "feeding_kind": "slurry",
    "developmental_mode": "altricial",
    "food_guild": "granivore",
    "has_crop": True,
    "age_h": 200.0,
    "first_feed_low_h": 8.0,
    "yolk_absorbed": None,
    "feathered": False,
    "feeds_itself": False,
    "mass_g": 50.0,
    "expected_g": 50.0,
    "origin": "captive",
    "rearing": "hand",
    "first_feed_in_care": False,
    "body": "warm",
    "hydration": "normal",
    "dehydration_fraction": None,
    "body_condition": "good",
    "alertness": "bright",
    "swallowing": "strong",
    "crop": "empty",
    "crop_content": None,
    "crop_wall": None,
    "droppings": "normal",
    "signs": (),
    "hours_since_last_feed": None,
    "at_dawn": False,
    "emptying_h": 4.0,
    "longest_wait_h": None,
    "no_gain": None,
}
FULL = {"crop": "full", "crop_content": "food"}


class TestGate:
    """docs/methods/gate.md."""

    @pytest.mark.parametrize(
        ("told", "decision", "vet_within_h", "look_again_h"),
        [
            ({}, "feed", None, None),
            ({"body": "cold"}, "warm_first", None, 0.5),
            ({"body": "cold", "signs": ("cat_or_dog_contact",)}, "see_vet", 4.0, None),
            ({"signs": ("cat_or_dog_contact", "bleeding")}, "see_vet", 1.0, None),
            ({**FULL, "hours_since_last_feed": 2.5}, "wait_for_crop", None, 1.5),
            ({**FULL, "hours_since_last_feed": 5.0}, "wait_for_crop", None, 1.0),
            ({**FULL, "hours_since_last_feed": 6.0}, "see_vet", 4.0, None),
            ({"age_h": 6.0}, "wait_for_yolk", None, 2.0),
            ({"dehydration_fraction": 0.08}, "fluids_first", None, 1.0),
            ({"mass_g": None}, "weigh_first", None, None),
        ],
    )
    def test_table(self, told, decision, vet_within_h, look_again_h):
        answer = gate.decide(**{**WELL, **told})
        assert answer.decision == decision
        assert answer.vet.within_h == vet_within_h
        assert answer.vet.needed == (vet_within_h is not None)
        assert answer.look_again_after_h == look_again_h


class TestFluids:
    """docs/methods/fluids.md."""

    @pytest.mark.parametrize(
        ("mass_g", "fraction", "dose_ml"),
        [(20.0, 0.025, 0.5), (7.3, 0.025, 0.18), (118.0, 0.01, 1.1), (0.3, 0.025, 0.01)],
    )
    def test_dose(self, mass_g, fraction, dose_ml):
        assert first_steps.oral_fluid_ml(mass_g=mass_g, fraction=fraction) == dose_ml

    def test_a_tenth_of_a_gram_is_refused(self):
        with pytest.raises(DomainError) as refused:
            first_steps.oral_fluid_ml(mass_g=0.1, fraction=0.025)
        assert refused.value.code == "too_small_to_measure"


class TestTimetable:
    """docs/methods/timetable.md."""

    LISBON = {"on": "2027-05-02", "time_zone": "Europe/Lisbon", "first": "06:30", "last": "20:30"}
    DAY = {**LISBON, "feeds": 8, "interval_low_min": 120, "interval_high_min": 240, "night_feeds": 0}

    @staticmethod
    def walls(times):
        return [time[11:16] for time in times]

    def test_day_in_lisbon(self):
        times = timetable.timetable(**self.DAY, start_from=None)
        assert self.walls(times) == ["06:30", "08:30", "10:30", "12:30", "14:30", "16:30", "18:30", "20:30"]
        assert {time[-6:] for time in times} == {"+01:00"}

    def test_rest_of_the_day(self):
        times = timetable.timetable(**self.DAY, start_from="11:00")
        assert self.walls(times) == ["11:00", "13:20", "15:45", "18:05", "20:30"]

    def test_night_of_the_clock_change_in_berlin(self):
        night = {"on": "2027-03-27", "time_zone": "Europe/Berlin", "first": "22:00", "last": "06:00"}
        assert timetable.window_min(**night) == 420
        times = timetable.timetable(
            **night, feeds=4, interval_low_min=120, interval_high_min=240, night_feeds=0, start_from=None
        )
        assert times == [
            "2027-03-27T22:00:00+01:00",
            "2027-03-28T00:20:00+01:00",
            "2027-03-28T03:40:00+02:00",
            "2027-03-28T06:00:00+02:00",
        ]


class TestUnlisted:
    """docs/methods/unlisted.md."""

    def test_songbird_of_twelve_grams(self):
        inferred = unlisted.inferred_profile(
            scientific_name="Avis ignota",
            order="Passeriformes",
            adult_mass_g=12.0,
            developmental_mode="altricial",
            food_guild="insectivore",
        )
        profile = inferred.profile
        curve, fledging = profile.growth_curve, profile.fledging_days
        assert (curve.rate_per_day.value, curve.asymptote_g.value) == (0.4817, 10.9)
        assert curve.inflection_days.value == pytest.approx(round(log(1 / 0.06 - 1) / 0.48168, 2)) == 5.71
        assert (fledging.low, fledging.usual, fledging.high) == (9.9, 12.9, 16.8)
        assert (curve.log_rate_sd.value, curve.inflection_sd_days.value) == (0.26, 1.04)
        assert [(stage.key, stage.ages.to_day) for stage in profile.stages] == [
            ("naked", 4.5),
            ("pins", 8.4),
            ("feathered", None),
        ]
        assert inferred.identified
        assert not inferred.practised


class TestAlerts:
    """docs/methods/alerts.md."""

    GRAMS = {9: 24.7, 10: 28.8, 11: 27.4, 12: 31.0, 13: 35.5}

    def steps(self, until, *alerts, grams=None):
        days = [(day, mass_g) for day, mass_g in (grams or self.GRAMS).items() if day <= until]
        looks = growth_looks(last_mornings(COCKATIEL, asked(days)))
        return transitions(looks, alerts, now=HATCHED + timedelta(days=until))

    def test_a_loss_and_two_good_mornings(self):
        alerts, told = (), []
        for day in self.GRAMS:
            found = self.steps(day, *alerts)
            told.append([(one.code, one.step) for one in found])
            alerts = tuple(
                OpenAlert(code=one.code, severity=one.severity, last_found_at=one.last_found_at)
                for one in found
                if one.step != "close"
            )
        loss = "weight_loss"
        assert told == [[], [], [(loss, "open")], [(loss, "keep")], [(loss, "close")]]
        assert pytest.approx(0.0486, abs=5e-5) == 1 - 27.4 / 28.8

    def test_told_at_once(self):
        (opened,) = self.steps(12)
        assert (opened.step, opened.severity, opened.last_found_at) == (
            "open",
            "act_today",
            HATCHED + timedelta(days=11),
        )
        assert opened.finding.evidence["lost_fraction"] == 0.0486
        assert self.steps(13) == ()

    def test_corrected(self):
        found_on = HATCHED + timedelta(days=11)
        alert = OpenAlert(code="weight_loss", severity=Severity.ACT_TODAY, last_found_at=found_on)
        (closed,) = self.steps(12, alert, grams={**self.GRAMS, 11: 32.4, 12: 36.5})
        assert (closed.step, closed.withdrawn) == ("close", True)

    def test_back_after_it_was_closed_by_hand(self):
        closed = HATCHED + timedelta(days=11)
        assert answering.comes_back(resolved_at=closed, found_at=closed + timedelta(hours=72))
        assert not answering.comes_back(resolved_at=closed, found_at=closed + timedelta(hours=72, minutes=1))

    def test_put_off(self):
        now = HATCHED + timedelta(days=11)
        latest = answering.snoozed_until(severity=Severity.URGENT, now=now, hours=1.0)
        assert latest - now == timedelta(hours=1)
        with pytest.raises(DomainError, match="1 h at most"):
            answering.snoozed_until(severity=Severity.URGENT, now=now, until=latest + timedelta(seconds=1))
