"""Small parrots: figures retyped from their sources, named beside each.

WLL06 = Clinical Avian Medicine, Table 3.2.1; check = numbered worked check of the growth or the practice notes of the
reference folder; points = weighings of the papers, retyped from the collection of growth series.
"""

import math

import pytest

from tests.species.builtin_files import curve_g, document, ends, stage_on

COCKATIEL = "psittaciformes/nymphicus-hollandicus"
DOMESTIC_BUDGERIGAR = "psittaciformes/melopsittacus-undulatus-domestica"
BUDGERIGAR = "psittaciformes/melopsittacus-undulatus"
LOVEBIRD = "psittaciformes/agapornis-roseicollis"
MONK = "psittaciformes/myiopsitta-monachus"
RING_NECKED = "psittaciformes/psittacula-krameri"
GREEN_CHEEKED = "psittaciformes/pyrrhura-molinae"
SUN = "psittaciformes/aratinga-solstitialis"
ALL = (COCKATIEL, DOMESTIC_BUDGERIGAR, BUDGERIGAR, LOVEBIRD, MONK, RING_NECKED, GREEN_CHEEKED, SUN)
BUT_COCKATIEL = ALL[1:]


# Growth


@pytest.mark.parametrize(
    ("name", "day", "grams", "within"),
    [
        # The share is near the scatter of the chicks about the fit.
        pytest.param(DOMESTIC_BUDGERIGAR, 5.95, 11.92, 0.08, id="Earle and Clarke 1991, budgerigar day 6"),
        pytest.param(DOMESTIC_BUDGERIGAR, 11.97, 27.16, 0.10, id="Earle and Clarke 1991, budgerigar day 12"),
        pytest.param(DOMESTIC_BUDGERIGAR, 29.80, 48.94, 0.08, id="Earle and Clarke 1991, budgerigar day 30"),
        pytest.param(LOVEBIRD, 0, 2.392, 0.20, id="Bucher 1983, lovebird day 0"),
        pytest.param(LOVEBIRD, 31.1, 56.01, 0.06, id="Bucher 1983, lovebird day 31"),
        pytest.param(MONK, 10.07, 22.996, 0.08, id="Petzinger et al. 2015, hand-fed monk parakeet day 10"),
        pytest.param(MONK, 20.97, 67.25, 0.08, id="Petzinger et al. 2015, hand-fed monk parakeet day 21"),
        pytest.param(MONK, 63.03, 103.13, 0.04, id="Petzinger et al. 2015, hand-fed monk parakeet day 63"),
        pytest.param(RING_NECKED, 10.13, 44.11, 0.20, id="Braun and Wink 2013, ring-necked parakeet day 10"),
        pytest.param(RING_NECKED, 20.06, 109.15, 0.06, id="Braun and Wink 2013, ring-necked parakeet day 20"),
        pytest.param(RING_NECKED, 32.91, 136.34, 0.05, id="Braun and Wink 2013, ring-necked parakeet day 33"),
        # Amniote, hatching mass; the curve was laid through it by hand.
        pytest.param(BUDGERIGAR, 0, 1.44, 0.12, id="AM hatching mass, wild budgerigar"),
        pytest.param(SUN, 0, 6.02, 0.12, id="AM hatching mass, sun parakeet"),
    ],
)
def test_curve_meets_a_weighing(name, day, grams, within):
    assert math.log(curve_g(name, day) / grams) == pytest.approx(0, abs=within)


def test_domestic_budgerigar_has_the_gompertz_of_growth_check_31():
    # Check 31: G 53.124, 0.1512, 8.875.
    for day in (0, 5, 15, 30):
        expected = 53.124 * math.exp(-math.exp(-0.1512 * (day - 8.875)))
        assert curve_g(DOMESTIC_BUDGERIGAR, day) == pytest.approx(expected, rel=0.005)


@pytest.mark.parametrize(
    ("name", "adult_g"),
    [
        pytest.param(GREEN_CHEEKED, 77.1, id="AV 77.1 g green-cheeked parakeet"),
        pytest.param(SUN, 119.6, id="AV 119.6 g sun parakeet"),
    ],
)
def test_unweighed_species_grow_on_the_line_of_the_parrots(name, adult_g):
    # Growth notes section 2: K_L = 0.466 M^-0.222, median A/M 1.01.
    curve = document(name)["growth_curve"]
    assert curve["form"] == "logistic"
    assert curve["rate_per_day"]["value"] == pytest.approx(0.466 * adult_g**-0.222, rel=0.002)
    assert curve["asymptote_g"]["value"] == pytest.approx(1.01 * adult_g, rel=0.002)
    assert {curve[field]["reach"] for field in ("asymptote_g", "rate_per_day", "inflection_days")} == {"inferred"}


def test_the_two_budgerigars_are_told_apart():
    # AVONET 29 g; Earle and Clarke 1991 50 g. Each has one binomial and its own amounts.
    wild, domestic = document(BUDGERIGAR), document(DOMESTIC_BUDGERIGAR)
    assert wild["scientific_name"] == domestic["scientific_name"] == "Melopsittacus undulatus"
    assert (wild["masses"]["adult_g"]["value"], domestic["masses"]["adult_g"]["value"]) == (29, 50)
    assert all(curve_g(DOMESTIC_BUDGERIGAR, day) > curve_g(BUDGERIGAR, day) for day in (5, 15, 30))


# Weaning and fledging


@pytest.mark.parametrize(
    ("name", "from_weeks", "to_weeks"),
    [
        pytest.param(COCKATIEL, 7, 11, id="WLL06 cockatiel"),
        pytest.param(DOMESTIC_BUDGERIGAR, 6, 7, id="WLL06 budgerigar, domestic"),
        pytest.param(BUDGERIGAR, 6, 7, id="WLL06 budgerigar"),
        pytest.param(LOVEBIRD, 7, 11, id="WLL06 peach-faced lovebird"),
        pytest.param(SUN, 8, 9, id="WLL06 sun conure"),
        pytest.param(GREEN_CHEEKED, 6, 12, id="WLL06 green-cheeked conure"),
        pytest.param(MONK, 7, 11, id="trade list, conures"),
    ],
)
def test_weaning_is_in_the_printed_weeks(name, from_weeks, to_weeks):
    assert ends(document(name)["weaning"]["age_days"]) == (7 * from_weeks, 7 * to_weeks)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        pytest.param(BUDGERIGAR, 3 * 7, 35.25, id="WLL06 3 weeks, AM 35.25 d budgerigar"),
        pytest.param(LOVEBIRD, 3 * 7, 42.8, id="WLL06 3 weeks, AM 42.8 d lovebird"),
        pytest.param(GREEN_CHEEKED, 4 * 7, 6 * 7, id="WLL06 4-6 weeks green-cheeked conure"),
        pytest.param(SUN, 6 * 7, 56, id="WLL06 6 weeks, AM 56 d sun conure"),
        pytest.param(MONK, 40, 42, id="PET15 40 d, AM 42 d monk parakeet"),
        pytest.param(RING_NECKED, 45.5, 45.5, id="AM 45.5 d ring-necked parakeet"),
    ],
)
def test_fledging_is_in_the_printed_days(name, low, high):
    assert ends(document(name)["fledging_days"]) == (low, high)


def test_budgerigar_of_practice_check_55_is_weaned_between_five_and_nine_weeks():
    # Check 55: at 5 weeks too early, at 7 typical, at 9 late.
    weaning = document(DOMESTIC_BUDGERIGAR)["weaning"]["age_days"]
    assert 5 * 7 < weaning["low"] <= 7 * 7 <= weaning["high"] < 9 * 7


@pytest.mark.parametrize("name", ALL)
def test_step_back_at_a_tenth_below_peak(name):
    # HRB p.599, ARI: 10 % of peak.
    assert document(name)["weaning"]["loss_limit_fraction"]["value"] == 0.10


# Feeds


@pytest.mark.parametrize("name", BUT_COCKATIEL)
def test_only_cockatiels_get_thin_food(name):
    # R&G86: 7 % was for cockatiel hatchlings; rule 11 of the practice page: otherwise never under 20 %.
    solids = [stage["dry_matter_fraction"] for stage in document(name)["stages"]]
    assert min(band["low"] for band in solids) == 0.20
    assert solids[-1]["high"] == 0.30


@pytest.mark.parametrize(
    ("name", "feeds"),
    [
        # Aviculture column: a feed at 03:00 only for hatchlings of 4 g or less. AM: 1.44, 2.52, 4.76 and 6.02 g.
        pytest.param(BUDGERIGAR, 1, id="1.44 g budgerigar"),
        pytest.param(DOMESTIC_BUDGERIGAR, 1, id="1.7 g domestic budgerigar"),
        pytest.param(LOVEBIRD, 1, id="2.52 g lovebird"),
        pytest.param(MONK, 0, id="4.76 g monk parakeet"),
        pytest.param(SUN, 0, id="6.02 g sun parakeet"),
    ],
)
def test_night_feed_is_for_hatchlings_of_four_grams_or_less(name, feeds):
    assert stage_on(name, 2)["night_feeds"]["value"] == feeds
    assert stage_on(name, 20)["night_feeds"]["value"] == 0


@pytest.mark.parametrize("name", BUT_COCKATIEL)
def test_first_week_has_the_feeds_of_the_veterinary_handout(name):
    # VHH: in the first week every 2-3 h, 6-10 a day.
    for day in (1, 6):
        stage = stage_on(name, day)
        assert ends(stage["interval_min"]) == (120, 180)
        assert 6 <= stage["feeds_per_day"]["low"] <= stage["feeds_per_day"]["high"] <= 10


@pytest.mark.parametrize("name", ALL)
def test_a_feed_is_at_most_a_tenth_of_the_bird(name):
    # APN, ZWE, JOH, PRH: about 10 % of body mass; JOH 3 % once grown.
    profile = document(name)
    assert profile["feed_cap_fraction"]["value"] == 0.10
    assert profile["grown_cap_fraction"]["value"] == 0.03
    assert all(stage["volume_fraction"]["high"] <= 0.10 for stage in profile["stages"])


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        pytest.param(BUDGERIGAR, 14, 16, id="TUBE Table 1 budgerigar"),
        pytest.param(DOMESTIC_BUDGERIGAR, 14, 16, id="TUBE Table 1 budgerigar, domestic"),
        pytest.param(LOVEBIRD, 12, 14, id="TUBE Table 1 lovebird"),
        pytest.param(GREEN_CHEEKED, 12, 14, id="TUBE Table 1 small conure"),
    ],
)
def test_tube_is_last_and_of_the_printed_gauge(name, low, high):
    tube = document(name)["methods"][-1]
    assert (tube["method"], tube["skill"]) == ("tube", "trained")
    assert ends(tube["gauge"]) == (low, high)


@pytest.mark.parametrize(
    ("day", "milestone"),
    [
        # The breeder's page: eyes day 6 or 7, primaries day 7, tail day 9.
        pytest.param(6, "eyes_open", id="breeder's page, eyes"),
        pytest.param(7, "pins_visible", id="breeder's page, primaries"),
        pytest.param(9, "tail_pins_visible", id="breeder's page, tail"),
    ],
)
def test_budgerigars_open_their_eyes_in_the_first_week(day, milestone):
    [seen] = [entry["seen_days"] for entry in document(BUDGERIGAR)["milestones"] if entry["key"] == milestone]
    assert seen["low"] == day


@pytest.mark.parametrize("name", ALL)
def test_naked_chicks_have_the_brooder_of_the_handouts(name):
    # VHH 35-36 C, ROM up to 36.7 C; feathered WB-P 23.9-26.7 C.
    assert ends(stage_on(name, 0)["brooder_c"]) == (35, 36.7)
    assert ends(document(name)["stages"][-1]["brooder_c"]) == (23.9, 26.7)
