"""Units of measure, told by the suffix of a field's name: suffix -> UCUM code (UCUM 2.2)."""

# The longest suffix that fits speaks.
UCUM_BY_SUFFIX = {
    "_kj_per_g_dm": "kJ/g",
    "_kj_per_g": "kJ/g",
    "_kj_per_day": "kJ/d",
    "_kj_per_ml": "kJ/mL",
    "_kj": "kJ",
    "_g_per_day": "g/d",
    "_g_per_ml": "g/mL",
    "_j_per_k": "J/K",
    "_j_per_g": "J/g",
    "_mg_per_kg_food": "mg/kg",
    "_minutes_above_low_c": "min",
    "_per_day": "/d",
    "_g": "g",
    "_mg": "mg",
    "_ml": "mL",
    "_c": "Cel",
    "_d": "d",
    "_days": "d",
    "_day": "d",
    "_h": "h",
    "_min": "min",
    "_s": "s",
    "_m": "m",
    "_mm": "mm",
    "_fraction": "1",
}
_SUFFIXES = sorted(UCUM_BY_SUFFIX, key=len, reverse=True)


def ucum_code(name: str) -> str | None:
    """The code of a field's unit, such as ``kJ/mL`` for ``energy_kj_per_ml``; ``None`` for a bare number."""
    return next((UCUM_BY_SUFFIX[suffix] for suffix in _SUFFIXES if f"_{name}".endswith(suffix)), None)
