"""A feral pigeon of nine days, with all that a carer can tell of it."""

URL = "/api/v1/feeding-plans"
PIGEON = {
    "species": "columba-livia",
    "age_days": 9,
    "mass_g": 118.0,
    "on": "2027-05-02",
    "time_zone": "Europe/Lisbon",
    "feeding_day": {"first": "06:30", "last": "20:30"},
    "formula": {
        "dry_matter_fraction": 0.92,
        "energy_kj_per_g_dm": 16.9,
        "bulk_density_g_per_ml": 0.55,
        "composition": {
            "water": 0.08,
            "protein": 0.20,
            "fat": 0.10,
            "carbohydrate": 0.55,
            "fibre": 0.03,
            "ash": 0.04,
        },
    },
    "condition": {"body": "warm", "hydration": "normal", "crop": "empty"},
    "given": {"dry_matter_fraction": 0.25, "temperature_c": 39.5, "volume_ml": 9.0, "feeds_per_day": 5},
}
