"""Each rule of a pack: one spoilt value is found by that rule, at that place. Limits: docs/safety/hazards.md."""

import dataclasses

import msgspec
import pytest

from species.packs.check import NOTING_RULES, PACK_RULES, PROFILE_RULES, check_reading
from species.packs.check.values import DOMAINS
from species.packs.findings import Grade
from species.packs.schema import build_schema

SLURRY = "fictus-psittacinus"
SOLID = "fictus-muscivorus"
SELF_FED = "natans-inventus-domesticus"


def quantity(value):
    return {"value": value, "reach": "group", "sources": ["INV p.9"]}


def band(low, high, usual=None):
    return {"low": low, "high": high, "usual": usual, "reach": "group", "sources": ["INV p.9"]}


def printed(from_g, to_g, low_ml, high_ml, **more):
    row = {"from_g": from_g, "to_g": to_g, "low_ml": low_ml, "high_ml": high_ml, **more}
    return {**row, "reach": "species", "sources": ["INV p.9"]}


TUBE = {"method": "tube", "skill": "trained"}
SPOON = {"method": "spoon", "skill": "untrained"}

CASES = [
    ("key_is_the_scientific_name", SLURRY, {"scientific_name": "Fictus alter"}, "/key"),
    ("key_is_the_scientific_name", SLURRY, {"scientific_name": "fictus Alter L."}, "/scientific_name"),
    ("has_a_name_in_words", SLURRY, {"vernacular_names/0/language": "English"}, "/vernacular_names/0/language"),
    ("has_a_name_in_words", SLURRY, {"vernacular_names/0/name": " "}, "/vernacular_names/0/name"),
    ("former_keys_are_not_its_own", SLURRY, {"former_keys": [SLURRY]}, "/former_keys"),
    ("sources_or_equation", SLURRY, {"masses/hatch_g/sources": []}, "/masses/hatch_g"),
    ("sources_or_equation", SLURRY, {"masses/hatch_g/equation": "x"}, "/masses/hatch_g/equation"),
    ("sources_or_equation", SELF_FED, {"masses/adult_g/equation": None}, "/masses/adult_g"),
    ("sources_or_equation", SELF_FED, {"masses/adult_g/sources": ["INV p.1"]}, "/masses/adult_g/sources"),
    ("sources_or_equation", SLURRY, {"stages/1/ages/sources": []}, "/stages/1/ages"),
    ("bands_are_in_order", SLURRY, {"stages/0/interval_min/low": 151}, "/stages/0/interval_min"),
    ("bands_are_in_order", SLURRY, {"stages/0/interval_min/usual": 151}, "/stages/0/interval_min"),
    (
        "numbers_are_in_their_domain",
        SLURRY,
        {"weaning/loss_limit_fraction/value": 10},
        "/weaning/loss_limit_fraction/value",
    ),
    ("numbers_are_in_their_domain", SLURRY, {"masses/adult_g/value": 0}, "/masses/adult_g/value"),
    ("numbers_are_in_their_domain", SLURRY, {"masses/adult_g/value": 5_000_000}, "/masses/adult_g/value"),
    ("numbers_are_in_their_domain", SLURRY, {"stages/0/interval_min/high": 9000}, "/stages/0/interval_min/high"),
    ("numbers_are_in_their_domain", SLURRY, {"stages/0/brooder_c/high": 97}, "/stages/0/brooder_c/high"),
    ("numbers_are_in_their_domain", SLURRY, {"fledging_days/high": -1}, "/fledging_days/high"),
    ("numbers_agree_with_each_other", SLURRY, {"masses/adult_low_g/value": 91}, "/masses/adult_low_g"),
    ("numbers_agree_with_each_other", SLURRY, {"masses/adult_high_g/value": 89}, "/masses/adult_high_g"),
    ("numbers_agree_with_each_other", SLURRY, {"masses/hatch_g/value": 50}, "/masses/hatch_g"),
    ("numbers_agree_with_each_other", SLURRY, {"masses/peak_g": quantity(900)}, "/masses/peak_g"),
    ("numbers_agree_with_each_other", SLURRY, {"growth_curve/asymptote_g/value": 950}, "/growth_curve/asymptote_g"),
    ("numbers_agree_with_each_other", SLURRY, {"growth_curve/valid_from_day": 40}, "/growth_curve/valid_to_day"),
    ("stages_cover_the_rearing", SLURRY, {"stages": []}, "/stages"),
    ("stages_cover_the_rearing", SLURRY, {"stages/0/ages/from_day": 1}, "/stages/0/ages/from_day"),
    ("stages_cover_the_rearing", SLURRY, {"stages/0/ages/to_day": 7}, "/stages/1/ages/from_day"),
    ("stages_cover_the_rearing", SLURRY, {"stages/0/ages/to_day": 9}, "/stages/1/ages/from_day"),
    ("stages_cover_the_rearing", SLURRY, {"stages/1/ages/to_day": None}, "/stages/1/ages/to_day"),
    ("stages_cover_the_rearing", SLURRY, {"stages/1/ages/to_day": 8}, "/stages/1/ages"),
    ("young_have_a_brooder", SLURRY, {"stages/0/brooder_c": None}, "/stages/0/brooder_c"),
    ("nothing_is_listed_twice", SLURRY, {"stages/1/key": "naked"}, "/stages"),
    ("nothing_is_listed_twice", SLURRY, {"methods": [SPOON, SPOON]}, "/methods"),
    ("caps_are_safe", SOLID, {"feed_cap_fraction": quantity(0.1)}, "/feed_cap_fraction"),
    ("caps_are_safe", SLURRY, {"feed_cap_fraction/value": 0.11}, "/feed_cap_fraction"),
    ("caps_are_safe", SLURRY, {"feed_cap_fraction": None}, "/feed_cap_fraction"),
    ("caps_are_safe", SLURRY, {"grown_cap_fraction/value": 0.06}, "/grown_cap_fraction"),
    ("caps_are_safe", SLURRY, {"stages/0/volume_fraction/high": 0.12}, "/stages/0/volume_fraction/high"),
    ("printed_volumes_are_a_table", SLURRY, {"printed_volumes": [printed(20, 10, 1, 2)]}, "/printed_volumes/0"),
    ("printed_volumes_are_a_table", SLURRY, {"printed_volumes": [printed(10, 20, 2, 1)]}, "/printed_volumes/0"),
    ("printed_volumes_are_a_table", SLURRY, {"printed_volumes": [printed(10, 20, 2, 4)]}, "/printed_volumes/0/high_ml"),
    (
        "printed_volumes_are_a_table",
        SLURRY,
        {"printed_volumes": [printed(10, 20, 1, 2, interval_low_min=2, interval_high_min=3)]},
        "/printed_volumes/0",
    ),
    (
        "printed_volumes_are_a_table",
        SLURRY,
        {"printed_volumes": [printed(10, 20, 1, 2), printed(15, 30, 2, 3)]},
        "/printed_volumes/0/to_g",
    ),
    (
        "food_is_not_too_hot",
        SLURRY,
        {"feeding_temperature/never_above_c/value": 42.5},
        "/feeding_temperature/never_above_c",
    ),
    ("food_is_not_too_hot", SLURRY, {"feeding_temperature/band_c/high": 41.5}, "/feeding_temperature/band_c/high"),
    ("food_is_not_too_hot", SLURRY, {"feeding_temperature/band_c/low": 37}, "/feeding_temperature/band_c/low"),
    (
        "food_is_not_too_hot",
        SLURRY,
        {"feeding_temperature/never_above_c/value": 40},
        "/feeding_temperature/band_c/high",
    ),
    ("food_is_not_too_hot", SLURRY, {"feeding_temperature": None}, "/feeding_temperature"),
    (
        "cautions_hold_for_a_time",
        SLURRY,
        {"cautions/0/from_day": 6.0, "cautions/0/to_day": 6.0},
        "/cautions/0/to_day",
    ),
    ("cautions_hold_for_a_time", SLURRY, {"cautions/0/from_day": -1.0}, "/cautions/0/from_day"),
    ("food_is_not_too_thin", SLURRY, {"stages/1/dry_matter_fraction/low": 0.19}, "/stages/1/dry_matter_fraction/low"),
    ("food_is_not_too_thin", SLURRY, {"stages/0/dry_matter_fraction/low": 0.07}, "/stages/0/dry_matter_fraction/low"),
    ("food_is_not_too_thin", SLURRY, {"stages/0/dry_matter_fraction": None}, "/stages/0/dry_matter_fraction"),
    ("tube_is_never_first", SLURRY, {"methods": [TUBE, SPOON]}, "/methods/0"),
    ("tube_is_never_first", SLURRY, {"methods/1/skill": "untrained"}, "/methods/1/skill"),
    (
        "portions_fit_the_feeding_kind",
        SELF_FED,
        {"stages/0/volume_fraction": band(0.05, 0.1)},
        "/stages/0/volume_fraction",
    ),
    ("portions_fit_the_feeding_kind", SELF_FED, {"printed_volumes": [printed(10, 20, 1, 2)]}, "/printed_volumes"),
    (
        "portions_fit_the_feeding_kind",
        SOLID,
        {"stages/0/volume_fraction": band(0.05, 0.1)},
        "/stages/0/volume_fraction",
    ),
    ("portions_fit_the_feeding_kind", SOLID, {"methods": []}, "/methods"),
    ("portions_fit_the_feeding_kind", SLURRY, {"default_formula": None}, "/default_formula"),
    ("fed_stages_say_how_often", SLURRY, {"stages/0/interval_min": None, "stages/0/feeds_per_day": None}, "/stages/0"),
    ("evidence_is_earned", SELF_FED, {"evidence": "curated"}, "/evidence"),
    ("evidence_is_earned", SELF_FED, {"evidence": "derived"}, "/evidence"),
    (
        "evidence_is_earned",
        SLURRY,
        {"stages/0/brooder_c": {"low": 35, "high": 36, "reach": "inferred", "equation": "a guess"}},
        "/stages/0/brooder_c",
    ),
    ("evidence_is_earned", SOLID, {"evidence": "curated", "stages/0/interval_min": None}, "/evidence"),
    ("evidence_is_earned", SOLID, {"evidence": "curated", "stages/0/pieces_per_feed": None}, "/evidence"),
    ("files_are_named_after_their_species", SLURRY, {"order": "Ficticiformes"}, "/key"),
    ("keys_are_unique", SLURRY, {"former_keys": [SOLID]}, "/key"),
    ("references_exist", SLURRY, {"masses/hatch_g/sources": ["NONE p.1"]}, "/masses/hatch_g/sources"),
    ("references_exist", SLURRY, {"default_formula": "no-such-powder"}, "/default_formula"),
    ("references_exist", SOLID, {"stages/0/foods": ["unicorn"]}, "/stages/0/foods"),
]


@pytest.mark.parametrize(("rule", "key", "changes", "pointer"), CASES, ids=[f"{case[0]}-{case[3]}" for case in CASES])
def test_a_spoilt_value_is_found(altered, rule, key, changes, pointer):
    checked = check_reading(altered(key, changes))
    assert checked.pack is None
    assert (rule, pointer) in {(finding.rule, finding.pointer) for finding in checked.findings}


TABLE_CASES = [
    ("compositions_add_up", "formulas", {"composition/protein": 0.4}, "/formula/0/composition"),
    ("compositions_add_up", "formulas", {"dry_matter_fraction/value": 0.8}, "/formula/0/dry_matter_fraction"),
    ("tables_are_sourced", "formulas", {"composition/ash": -0.04}, "/formula/0/composition/ash"),
    ("tables_are_sourced", "formulas", {"energy_kj_per_g_dm/value": 1700}, "/formula/0/energy_kj_per_g_dm/value"),
    ("tables_are_sourced", "foods", {"energy_kj_per_g/sources": []}, "/food/0/energy_kj_per_g"),
]


@pytest.mark.parametrize(("rule", "table", "changes", "pointer"), TABLE_CASES)
def test_a_spoilt_powder_or_food_is_found(good_reading, rule, table, changes, pointer):
    (record,) = getattr(good_reading, table)
    document = msgspec.to_builtins(record)
    for path, value in changes.items():
        *steps, last = path.split("/")
        place = document
        for step in steps:
            place = place[step]
        place[last] = value
    reading = dataclasses.replace(good_reading, **{table: (msgspec.convert(document, type(record)),)})
    found = {(finding.rule, finding.pointer) for finding in check_reading(reading).findings}
    assert (rule, pointer) in found


def test_two_sources_of_one_key(good_reading):
    reading = dataclasses.replace(good_reading, sources=good_reading.sources * 2)
    assert "keys_are_unique" in {finding.rule for finding in check_reading(reading).findings}


def test_an_unused_source_is_a_note_and_no_error(good_reading):
    spare = msgspec.structs.replace(good_reading.sources[0], key="SPARE")
    checked = check_reading(dataclasses.replace(good_reading, sources=(*good_reading.sources, spare)))
    assert [(f.rule, f.grade) for f in checked.findings] == [("sources_are_used", Grade.NOTE)]
    assert checked.pack is not None


def test_every_rule_has_a_case():
    tested = {case[0] for case in CASES + TABLE_CASES} | {"sources_are_used"}
    assert tested == {rule.__name__ for rule in (*PROFILE_RULES, *PACK_RULES, *NOTING_RULES)}


class TestThinFood:
    """HRB p.634 and R&G86: 7 % solids for cockatiels to day 4 only; hazards 21 and 22."""

    @pytest.fixture
    def cockatiel(self, altered):
        def alter(to_day, low):
            return altered(
                SLURRY,
                {
                    "key": "nymphicus-hollandicus",
                    "scientific_name": "Nymphicus hollandicus",
                    "stages/0/ages/to_day": to_day,
                    "stages/1/ages/from_day": to_day,
                    "stages/0/dry_matter_fraction/low": low,
                },
            )

        return alter

    @pytest.mark.parametrize(("to_day", "low", "allowed"), [(5, 0.07, True), (5, 0.06, False), (6, 0.07, False)])
    def test_the_cockatiel(self, cockatiel, to_day, low, allowed):
        rules = {finding.rule for finding in check_reading(cockatiel(to_day, low)).findings}
        assert ("food_is_not_too_thin" not in rules) is allowed

    def test_nectar_is_exempt(self, altered):
        reading = altered(SLURRY, {"food_guild": "nectarivore", "stages/1/dry_matter_fraction/low": 0.15})
        assert "food_is_not_too_thin" not in {finding.rule for finding in check_reading(reading).findings}


def test_a_printed_table_may_pass_ten_per_cent(altered):
    """HRB p.446: mourning doves of 20 g take up to 2.5 mL, 13 % of mass."""
    reading = altered(SLURRY, {"printed_volumes": [printed(15, 25, 1.5, 2.5)], "feed_cap_fraction/value": 0.13})
    assert check_reading(reading).findings == ()


def test_every_number_of_a_pack_has_a_domain():
    """A field added to the records without a plausible range would let a wrong unit pass."""
    unguarded = {
        field
        for record in build_schema()["$defs"].values()
        for field, part in record.get("properties", {}).items()
        if part.get("$ref", "").rsplit("/", 1)[-1] in {"Quantity", "Band"}
        and not any(field.endswith(domain.suffix) for domain in DOMAINS)
    }
    assert unguarded == set()
