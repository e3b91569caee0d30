"""What practice says of weight by group of birds: how much a day may take, and how long no gain may last."""

from species.domain.record import Record


class Limits(Record, frozen=True, kw_only=True):
    """Limits of one group while its chicks grow.

    ``loss_fraction`` since the morning before; ``mornings_without_gain`` after which somebody must act;
    ``lag_days`` after hatching in which a standstill or a small loss is normal.
    """

    loss_fraction: float
    mornings_without_gain: int
    lag_days: float
    sources: tuple[str, ...]


#: No printed figure for the group: 5 % is where an ill bird is helped with food (TUBE, adults), two mornings as in
#: parrots, and a day's lag from memory.
ANY_BIRD = Limits(
    loss_fraction=0.05, mornings_without_gain=2, lag_days=1.0, sources=("TUBE 5-10 % drop", "COMMON two mornings")
)
OF_ORDER: dict[str, Limits] = {
    # ">2 consecutive days" without gain or with loss; lag d0-3. A loss beyond 3 % in a day is from memory.
    "Psittaciformes": Limits(
        loss_fraction=0.03, mornings_without_gain=2, lag_days=3.0, sources=("HRB p.599", "ARI growth chart")
    ),
    # Any day without gain while growing.
    "Columbiformes": Limits(loss_fraction=0.05, mornings_without_gain=1, lag_days=1.0, sources=("HRB p.450",)),
    # Flat for the first 48 h.
    "Charadriiformes": Limits(loss_fraction=0.05, mornings_without_gain=2, lag_days=2.0, sources=("HRB pp.430-432",)),
    # Ten per cent up or down from day to day is normal.
    "Pelecaniformes": Limits(loss_fraction=0.10, mornings_without_gain=3, lag_days=1.0, sources=("HRB p.282",)),
    "Strigiformes": Limits(loss_fraction=0.05, mornings_without_gain=2, lag_days=1.0, sources=("HRB p.491",)),
    "Falconiformes": Limits(loss_fraction=0.05, mornings_without_gain=2, lag_days=1.0, sources=("HRB p.340",)),
    "Accipitriformes": Limits(loss_fraction=0.05, mornings_without_gain=2, lag_days=1.0, sources=("HRB p.340",)),
}
#: Parrots so young or so small are acted on after one morning (practice, rule 13; from memory).
SMALL_PARROT_DAYS, SMALL_PARROT_G = 10.0, 20.0


def limits_of(order: str) -> Limits:
    """Limits of an order, or those of any bird."""
    return OF_ORDER.get(order, ANY_BIRD)
