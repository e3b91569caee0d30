"""Requests for mixes that the tests of the mix start from."""

from api.plans.rules.mix import Mix
from api.plans.rules.mix_defaults import mix_request
from api.plans.rules.mixes import mix

#: energetics-and-mixing.md section 3.2, powder X.
POWDER_X = {"water": 0.08, "protein": 0.20, "fat": 0.10, "carbohydrate": 0.55, "fibre": 0.03, "ash": 0.04}
FORMULA_X = {"dry_matter_fraction": 0.92, "composition": POWDER_X}
ONE_PORTION = [{"label": "Pip", "volume_ml": 60.0, "dry_matter_fraction": 0.25}]
#: Density of the slurry of check C32, 25 % of powder X at 40 C.
C32_G_PER_ML = 1.0726
#: The kitchen of check C20: 500 g at 40 C from 80 and 20 C, powder at 22 C.
C20_KITCHEN = {
    "target_c": 40.0,
    "hot_water_c": 80.0,
    "cool_water_c": 20.0,
    "powder_c": 22.0,
    "spare_fraction": 0.0,
    "portions": [{"label": "all", "volume_ml": 500.0 / C32_G_PER_ML, "dry_matter_fraction": 0.25}],
}


def mixed(**told) -> Mix:
    """A mix of powder X for one bird, but for what is told."""
    return mix(mix_request({"formula": FORMULA_X, "portions": ONE_PORTION, **told}))
