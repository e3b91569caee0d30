"""Volumes a carer can draw up: the smallest syringe that holds the feed, and its marks.

Marks are those commonly sold for each size, in hundredths up to 1 mL, tenths up to 3 mL, fifths up to 10 mL, whole
millilitres above. Common practice, no source.
"""

import math

from species.domain.errors import DomainError

#: (holds mL, marked every mL), smallest first.
SYRINGES_ML: tuple[tuple[float, float], ...] = (
    (1.0, 0.01),
    (3.0, 0.1),
    (5.0, 0.2),
    (10.0, 0.2),
    (20.0, 1.0),
    (60.0, 1.0),
    (100.0, 2.0),
)
_EPSILON = 1e-9


def syringe_ml(*, volume_ml: float) -> float:
    """Size of the smallest syringe that holds a volume; the largest is filled more than once for more."""
    return next((size for size, _ in SYRINGES_ML if volume_ml <= size + _EPSILON), SYRINGES_ML[-1][0])


def on_a_mark_ml(*, volume_ml: float, low_ml: float, high_ml: float) -> float:
    """Nearest volume a syringe shows that does not leave a band.

    Parameters
    ----------
    volume_ml
        Volume wanted, inside the band.
    low_ml, high_ml
        Band that must not be left.

    Returns
    -------
    float
        A mark of the smallest syringe that holds it. Where no mark of that syringe lies in the band, a mark of the
        next finer one, filled more than once; in the end hundredths. A band narrower than a hundredth gives the
        hundredth just below its top.

    Raises
    ------
    DomainError
        If even hundredths of a millilitre cannot show a volume in the band.
    """
    size = syringe_ml(volume_ml=volume_ml)
    steps = sorted({step for holds, step in SYRINGES_ML if holds <= size}, reverse=True)
    for step in steps:
        first = math.ceil(low_ml / step - _EPSILON)
        last = math.floor(high_ml / step + _EPSILON)
        if first <= last:
            mark = min(max(round(volume_ml / step), first), last)
            return round(mark * step, 2)
    below_top = math.floor(high_ml / steps[-1] + _EPSILON)
    if below_top > 0:
        return round(below_top * steps[-1], 2)
    raise DomainError(
        f"A feed of {low_ml:.4g} to {high_ml:.4g} mL is smaller than a syringe can show.",
        field="/mass_g",
        code="too_small_to_measure",
        remedy="Feed single drops under a vet's guidance, and check the weight.",
    )
