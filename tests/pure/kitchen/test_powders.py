"""A powder told from its label."""

import pytest

from api.kitchen.rules.powders import PowderComposition, powder_told
from species.domain.errors import DomainError

# Powder X of energetics-and-mixing.md section 3.2, a made-up composition that the checks there use.
X = {"water": 0.08, "protein": 0.20, "fat": 0.10, "carbohydrate": 0.55, "fibre": 0.03, "ash": 0.04}


def test_what_is_missing_follows_from_the_label_by_the_wpsa_equation():
    powder = powder_told(composition=PowderComposition(**X))
    assert powder.dry_matter_fraction == pytest.approx(0.92)
    # Regulation (EC) 152/2009, per cent to MJ/kg, with all carbohydrate as sugar: the cautious end.
    by_hand = (0.1551 * 20 + 0.3431 * 10 + 0.1301 * 55) / 0.92
    assert powder.energy_kj_per_g_dm == pytest.approx(by_hand, rel=1e-3)


def test_what_is_told_stands():
    powder = powder_told(dry_matter_fraction=0.92, energy_kj_per_g_dm=16.9, composition=PowderComposition(**X))
    assert (powder.dry_matter_fraction, powder.energy_kj_per_g_dm) == (0.92, 16.9)


def test_rounding_of_a_label_is_taken_up_in_proportion():
    powder = powder_told(composition=PowderComposition(**(X | {"ash": 0.05})))
    composition = powder.composition
    assert composition is not None
    assert sum(getattr(composition, name) for name in X) == pytest.approx(1.0)
    assert composition.protein / composition.fat == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("told", "code", "field", "says"),
    [
        pytest.param(
            {"energy_kj_per_g_dm": 17.0}, "dry_matter_missing", "dry_matter_fraction", "moisture", id="no dry matter"
        ),
        pytest.param(
            {"dry_matter_fraction": 0.9}, "energy_missing", "energy_kj_per_g_dm", "composition", id="no energy"
        ),
        pytest.param(
            {"composition": PowderComposition(**(X | {"protein": 0.5}))},
            "composition_sum",
            "composition",
            "add up to 1",
            id="sum 1.3",
        ),
        pytest.param(
            {"dry_matter_fraction": 0.80, "composition": PowderComposition(**X)},
            "dry_matter_disagrees",
            "composition/water",
            "0.2",
            id="two dry matters",
        ),
    ],
)
def test_labels_that_do_not_add_up_are_refused_with_what_would_do(told, code, field, says):
    with pytest.raises(DomainError) as refused:
        powder_told(**told)
    assert refused.value.code == code
    assert refused.value.field == f"/formula/{field}"
    assert says in refused.value.remedy
    with pytest.raises(DomainError) as refused:
        powder_told(**told, pointer="")
    assert refused.value.field == f"/{field}"
