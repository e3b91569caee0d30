"""Which portions share a pot, and how much goes into it: feeding order kept, groups never crossed."""

from collections.abc import Sequence

from api.plans.rules.mix import Portion
from species.domain.record import Record

#: Less than this nobody can weigh and nothing keeps it warm; a smaller batch is made up to it, and it is said so.
LEAST_BATCH_ML = 5.0


def portions_ml(volumes_ml: Sequence[float], counts: Sequence[int]) -> float:
    """Volume that the portions add up to, in mL, to a hundredth.

    Parameters
    ----------
    volumes_ml, counts
        Volume of each portion and how many of it.
    """
    return round(sum(volume * count for volume, count in zip(volumes_ml, counts, strict=True)), 2)


class Serving(Record, frozen=True, kw_only=True):
    """Portions of one thickness out of one pot."""

    dry_matter_fraction: float
    portions: tuple[Portion, ...]

    @property
    def needed_ml(self) -> float:
        """Sum of the portions."""
        return portions_ml(
            [portion.volume_ml for portion in self.portions], [portion.count for portion in self.portions]
        )


class Pot(Record, frozen=True, kw_only=True):
    """One batch: the servings that come out of it, thickest first. More than one only where it is thinned."""

    group: str | None
    servings: tuple[Serving, ...]


def pots(portions: Sequence[Portion], thin_in_steps: bool) -> tuple[Pot, ...]:
    """Sort portions into pots.

    Parameters
    ----------
    portions
        In feeding order: healthy youngest first, new arrivals, then the sick.
    thin_in_steps
        Whether one pot of a group is thinned for the next serving, or each thickness has its own.

    Returns
    -------
    tuple of Pot
        By first appearance, so that the feeding order stays. Portions of different groups never share a pot, since
        what one bird's syringe brings into it the next one gets. A thinned pot serves its thickest first: water can
        be added, not taken out.
    """
    keys = list(dict.fromkeys((portion.group, portion.dry_matter_fraction) for portion in portions))
    servings = {
        key: Serving(
            dry_matter_fraction=key[1],
            portions=tuple(portion for portion in portions if (portion.group, portion.dry_matter_fraction) == key),
        )
        for key in keys
    }
    if not thin_in_steps:
        return tuple(Pot(group=key[0], servings=(servings[key],)) for key in keys)
    groups = dict.fromkeys(group for group, _ in keys)
    return tuple(
        Pot(
            group=group,
            servings=tuple(
                sorted(
                    (servings[key] for key in keys if key[0] == group),
                    key=lambda serving: -serving.dry_matter_fraction,
                )
            ),
        )
        for group in groups
    )


def batch_ml(needed_ml: float, spare_fraction: float) -> float:
    """Volume to make: what is needed, what stays in pot and syringe, and no less than can be weighed; in mL.

    Parameters
    ----------
    needed_ml
        Sum of the portions.
    spare_fraction
        Share of it to make besides.
    """
    return round(max(needed_ml * (1.0 + spare_fraction), LEAST_BATCH_ML), 2)


def needed_at_g(
    masses_g: Sequence[float], dry_matter_fractions: Sequence[float], at_dry_matter_fraction: float
) -> float:
    """Mass of mix of one thickness that holds the dry matter of several servings, in g.

    Parameters
    ----------
    masses_g, dry_matter_fractions
        The servings still to come, each at its own thickness.
    at_dry_matter_fraction
        Thickness of the mix they are drawn and thinned from.

    Notes
    -----
    Thinning keeps dry matter, so m = sum(m_i s_i) / s however many steps follow.
    """
    dry_g = sum(mass * share for mass, share in zip(masses_g, dry_matter_fractions, strict=True))
    return round(dry_g / at_dry_matter_fraction, 3)
