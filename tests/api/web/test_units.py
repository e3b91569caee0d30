import pytest

from api.web.units import UCUM_BY_SUFFIX, ucum_code


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("mass_g", "g"),
        ("volume_ml", "mL"),
        ("target_c", "Cel"),
        ("energy_kj_per_ml", "kJ/mL"),
        ("energy_kj_per_g_dm", "kJ/g"),
        ("need_kj_per_day", "kJ/d"),
        ("gain_g_per_day", "g/d"),
        ("bulk_density_g_per_ml", "g/mL"),
        ("heat_capacity_j_per_k", "J/K"),
        ("feeds_per_day", "/d"),
        ("interval_low_min", "min"),
        ("within_h", "h"),
        ("age_days", "d"),
        ("days", "d"),
        ("dehydration_fraction", "1"),
        ("altitude_m", "m"),
        ("species", None),
        ("count", None),
        ("acacia", None),
        ("program", None),
    ],
)
def test_the_suffix_tells_the_unit(name, code):
    assert ucum_code(name) == code


def test_codes_are_of_ucum():
    """The codes of UCUM 2.2 that stand for these units: Celsius is Cel, millilitre mL, day d, hour h, minute min."""
    atoms = {"kJ", "g", "mg", "mL", "J", "K", "Cel", "d", "h", "min", "s", "m", "mm", "kg", "1", ""}
    assert {atom for code in UCUM_BY_SUFFIX.values() for atom in code.split("/")} <= atoms
