"""Gulls, tern, ibis, flamingo, stork, herons, waders and coot: figures retyped from their sources, named beside each.

HRB = Hand-Rearing Birds, 2nd ed.; check = numbered worked check of the growth or the practice notes of the reference
folder.
"""

import math

import pytest

from tests.species.builtin_files import GULL, HERON, curve_g, document, ends, stage_on

BLACK_HEADED_GULL = "charadriiformes/chroicocephalus-ridibundus"
TERN = "charadriiformes/sterna-hirundo"
CURLEW = "charadriiformes/numenius-arquata"
KILLDEER = "charadriiformes/charadrius-vociferus"
IBIS = "pelecaniformes/eudocimus-albus"
GREY_HERON = "pelecaniformes/ardea-cinerea"
FLAMINGO = "phoenicopteriformes/phoenicopterus-ruber"
STORK = "ciconiiformes/ciconia-ciconia"
COOT = "gruiformes/fulica-americana"
ALL = (GULL, HERON, BLACK_HEADED_GULL, TERN, CURLEW, KILLDEER, IBIS, GREY_HERON, FLAMINGO, STORK, COOT)
FISH_EATERS = (GULL, HERON, BLACK_HEADED_GULL, TERN, GREY_HERON, STORK, IBIS)


# Growth


@pytest.mark.parametrize(
    ("name", "day", "grams", "within"),
    [
        # Points of the papers, retyped from the collection; the share is near that of the fit's own scatter.
        pytest.param(BLACK_HEADED_GULL, 10.1, 87.0, 0.05, id="Nelsen and Brandl 1987, hand-reared gull day 10"),
        pytest.param(BLACK_HEADED_GULL, 29.4, 239.1, 0.05, id="Nelsen and Brandl 1987, hand-reared gull day 29"),
        pytest.param(TERN, 10.0, 59.9, 0.08, id="Drent et al. 1992, common tern day 10"),
        pytest.param(TERN, 25.8, 119.7, 0.05, id="Drent et al. 1992, common tern day 26"),
        pytest.param(FLAMINGO, 20, 412, 0.06, id="HRB p.195, American flamingo day 20"),
        pytest.param(FLAMINGO, 30, 782, 0.05, id="HRB p.195, American flamingo day 30"),
        pytest.param(FLAMINGO, 60, 2159, 0.05, id="Conrad and Kasielke 2020, American flamingo day 60"),
        pytest.param(GREY_HERON, 9.8, 526.3, 0.05, id="Owen 1960, grey heron day 10"),
        pytest.param(GREY_HERON, 20.1, 991.8, 0.10, id="Owen 1960, grey heron day 20"),
        pytest.param(STORK, 10, 574.3, 0.10, id="Tsachalidis et al. 2005, white stork day 10"),
        pytest.param(STORK, 44, 3302, 0.06, id="Tsachalidis et al. 2005, white stork day 44"),
        pytest.param(KILLDEER, 15, 34.0, 0.10, id="Powell et al. 1997, killdeer day 15, middle of 31.7 and 36.2"),
        pytest.param(KILLDEER, 32, 72.6, 0.05, id="Powell et al. 1997, killdeer day 32"),
        pytest.param(COOT, 30.3, 452.1, 0.05, id="HRB p.372, American coot 30 days in care"),
        pytest.param(CURLEW, 25, 434.8, 0.05, id="check 46, hand-reared curlews of 20 to 30 days"),
        pytest.param(CURLEW, 55, 592.2, 0.05, id="check 46, hand-reared curlews of 50 to 60 days"),
    ],
)
def test_curve_meets_a_printed_weighing(name, day, grams, within):
    assert math.log(curve_g(name, day) / grams) == pytest.approx(0, abs=within)


@pytest.mark.parametrize(
    ("asymptote_g", "rate_per_day", "inflection_days"),
    [
        pytest.param(124.548, 0.20905, 10.147, id="check 26, pooled chicks"),
        pytest.param(126.16, 0.2236, 10.019, id="check 27, single chicks"),
        pytest.param(125.824, 0.2254, 9.958, id="check 44, means of the collection"),
    ],
)
def test_tern_curve_is_that_of_three_fits(asymptote_g, rate_per_day, inflection_days):
    # Three fits to two data sets agree within 8 % in rate and 2 % else; the profile lies among them.
    curve = document(TERN)["growth_curve"]
    assert curve["asymptote_g"]["value"] == pytest.approx(asymptote_g, rel=0.02)
    assert curve["rate_per_day"]["value"] == pytest.approx(rate_per_day, rel=0.08)
    assert curve["inflection_days"]["value"] == pytest.approx(inflection_days, rel=0.02)


@pytest.mark.parametrize(
    ("name", "grams", "within"),
    [
        pytest.param(TERN, 15.1, 0.05, id="Nisbet 1975, mean of 57 common terns on day 1, not yet gaining (HRB p.430)"),
        pytest.param(GULL, 69.5, 0.05, id="Spaans 1971, herring gulls on day 1, not yet gaining (HRB p.430)"),
    ],
)
def test_hatch_mass_is_near_that_of_day_one(name, grams, within):
    # HRB p.430: no gain in the first 48 h is normal; a twentieth is ours. AnAge's 1.25 g and its tenfold are far off.
    assert document(name)["masses"]["hatch_g"]["value"] == pytest.approx(grams, rel=within)


def test_grey_heron_is_not_held_to_the_end_of_its_points():
    # Check 40: the free logistic fit to nine points ends at 1031.07 g; adults weigh 1443 g (AVONET).
    assert document(GREY_HERON)["growth_curve"]["asymptote_g"]["value"] > 1.2 * 1031.07


def test_flamingo_gains_what_is_printed():
    # Check 47: 296 g on day 16, 412 g on day 20, 8.6 % a day; one point of a percent is ours.
    gain = 100 * ((curve_g(FLAMINGO, 20) / curve_g(FLAMINGO, 16)) ** (1 / 4) - 1)
    assert gain == pytest.approx(8.6, abs=1.0)


def test_flamingo_first_week_is_no_alarm():
    # Check 46: 94, 87, 86, 90, 96, 104, 113 g on days 0 to 6; inside two spreads of the curve.
    curve = document(FLAMINGO)["growth_curve"]
    spread = math.hypot(curve["log_asymptote_sd"]["value"], curve["residual_log_sd"]["value"])
    for day, grams in enumerate((94, 87, 86, 90, 96, 104, 113)):
        assert abs(math.log(grams / curve_g(FLAMINGO, day))) < 2 * spread


def test_ibis_stands_between_its_sexes():
    # De Santo et al. 1990 through the collection: last weighings 815 g (females) and 1078 g (males).
    assert 815 < curve_g(IBIS, 69) < 1078


# How much and how often


@pytest.mark.parametrize(("morning_g", "ml"), [(120, 12.0), (150, 15.0), (180, 15.0)])
def test_ibis_feed_stops_at_fifteen_millilitres(morning_g, ml):
    # Check 22 (HRB p.299): 10 % of the morning weight, formula frozen at 15 mL.
    [row] = [row for row in document(IBIS)["printed_volumes"] if row["from_g"] <= morning_g < row.get("to_g", math.inf)]
    assert row["high_ml"] == ml


def test_flamingo_feed_is_at_most_a_tenth():
    # Check 25 (HRB p.193): 120 g and above 20 % gain, 12 mL a feed.
    assert document(FLAMINGO)["feed_cap_fraction"]["value"] * 120 == pytest.approx(12.0)


@pytest.mark.parametrize(
    ("name", "day", "minutes"),
    [
        pytest.param(FLAMINGO, 1, (180, 180), id="HRB p.190, flamingo every 3 h"),
        pytest.param(BLACK_HEADED_GULL, 3, (60, 90), id="HRB p.430, gulls every 60 to 90 min"),
        pytest.param(BLACK_HEADED_GULL, 10, (180, 240), id="HRB p.430, gulls every 3 to 4 h after week one"),
        pytest.param(TERN, 3, (60, 90), id="HRB p.430, terns every 60 to 90 min from day 2"),
        pytest.param(TERN, 10, (90, 120), id="HRB p.430, terns every 1.5 to 2 h after week one"),
        pytest.param(GREY_HERON, 5, (60, 60), id="HRB p.281, herons hourly"),
        pytest.param(COOT, 5, (30, 30), id="HRB p.370, rails under two weeks"),
        pytest.param(COOT, 10, (30, 30), id="HRB p.370, rails under two weeks, second week"),
    ],
)
def test_interval_is_the_printed_one(name, day, minutes):
    assert ends(stage_on(name, day)["interval_min"]) == minutes


@pytest.mark.parametrize(
    ("name", "day", "feeds"),
    [
        pytest.param(FLAMINGO, 5, (4, 4), id="HRB p.193, flamingo four a day from day 4 to 5"),
        pytest.param(IBIS, 15, (4, 4), id="HRB p.297, ibis four a day"),
        pytest.param(IBIS, 33, (2, 2), id="HRB p.297, ibis twice a day from day 31"),
        pytest.param(TERN, 22, (4, 4), id="HRB p.430, dish filled four times"),
    ],
)
def test_feeds_a_day_are_the_printed_ones(name, day, feeds):
    assert ends(stage_on(name, day)["feeds_per_day"]) == feeds


def test_heron_in_its_first_feathers_gets_the_measured_energy():
    # Bennett et al. 1995: 2027 kJ a day at days 26 to 41; smelt 1.0 kcal/g (SACN5). A fifth either way is ours.
    share = stage_on(HERON, 34)["daily_fraction"]["usual"]
    assert share * curve_g(HERON, 34) * 4.184 == pytest.approx(2027, rel=0.2)


# Warmth


@pytest.mark.parametrize(
    ("name", "day", "celsius"),
    [
        pytest.param(IBIS, 12, (28.3, 29.4), id="HRB p.297, ibis days 11-13"),
        pytest.param(IBIS, 15, (24.4, 27.8), id="HRB p.297, ibis days 14-20"),
        pytest.param(IBIS, 25, (21.1, 26.7), id="HRB p.297, ibis days 21-30"),
        pytest.param(GREY_HERON, 5, (37.8, 37.8), id="HRB p.283, herons stage one"),
        pytest.param(GREY_HERON, 30, (21.0, 24.0), id="HRB p.283, herons stage three"),
        pytest.param(TERN, 0, (32.0, 38.0), id="HRB p.431, terns at hatching"),
        pytest.param(COOT, 3, (37.2, 37.8), id="HRB p.372, coots and rails 99 to 100 degrees F"),
        pytest.param(TERN, 3, (32.0, 35.0), id="HRB p.431, incubator 32 to 38 and kennel 29 to 35"),
        pytest.param(TERN, 13, (29.0, 35.0), id="HRB p.431 and 432, small terns to two weeks"),
    ],
)
def test_brooder_is_the_printed_one(name, day, celsius):
    assert ends(stage_on(name, day)["brooder_c"]) == celsius


def test_ibis_hatchling_starts_at_95_degrees_and_loses_one_a_day():
    # HRB p.301: 95 degrees F at hatching; p.302: a degree F less each day.
    for day in (0, 2, 10):
        low, high = ends(stage_on(IBIS, day)["brooder_c"])
        assert low - 0.05 <= (95 - day - 32) / 1.8 <= high + 0.05


def test_curlew_on_day_5_is_as_warm_as_shorebirds():
    # Check 45 (HRB p.402): 31.0 to 34.4 on day 5, from 36.6 to 37.2 less 1 to 2 degrees F a day; within 1 °C of ours.
    low, high = ends(stage_on(CURLEW, 5)["brooder_c"])
    assert low == pytest.approx(31.0, abs=1.0)
    assert high == pytest.approx(34.4, abs=1.0)


@pytest.mark.parametrize(("day", "celsius"), [(0, 34.0), (10, 31.1), (20, 28.3), (27, 26.3)])
def test_stork_is_as_warm_as_one_that_was_reared(day, celsius):
    # Farnell and Shannon 1987, Abdim's storks: 34 C after hatching, lowered to 26 C by four weeks, here by even steps.
    low, high = ends(stage_on(STORK, day)["brooder_c"])
    assert low <= celsius <= high


def test_killdeer_above_12_g_has_32_degrees():
    # HRB p.397: 90 °F above 12 g, until it feeds itself.
    assert curve_g(KILLDEER, 5) > 12
    assert stage_on(KILLDEER, 5)["brooder_c"]["usual"] == pytest.approx((90 - 32) / 1.8, abs=0.1)


def test_killdeer_keeps_its_lamp_until_near_flight():
    # Amniote: 27.5 d at first flight; HRB p.403: the lamp goes near fledging; p.394: two weeks without own warmth.
    assert "brooder_c" in stage_on(KILLDEER, 27)
    assert stage_on(KILLDEER, 13)["brooder_c"]["low"] > 27


@pytest.mark.parametrize("name", [CURLEW, KILLDEER])
def test_pins_open_no_stage_of_a_wader(name):
    # Design page 5, milestones: pins are looked for in all but precocial chicks.
    assert not [stage["key"] for stage in document(name)["stages"] if "pins_visible" in stage.get("opens_with", ())]


# What must not be forgotten


@pytest.mark.parametrize("name", ALL)
def test_every_waterbird_has_company_and_parents(name):
    codes = {caution["code"] for caution in document(name)["cautions"]}
    assert codes & {"imprinting", "never_alone"}
    assert "parents_first" in codes


@pytest.mark.parametrize("name", FISH_EATERS)
def test_fish_goes_with_thiamine(name):
    # HRB p.174.
    assert "fish_thiamine" in {caution["code"] for caution in document(name)["cautions"]}


@pytest.mark.parametrize("name", [CURLEW, KILLDEER])
def test_waders_feed_themselves(name):
    # HRB pp.394-399.
    assert document(name)["feeding_kind"] == "self_feeding"
    assert document(name)["developmental_mode"] == "precocial"
