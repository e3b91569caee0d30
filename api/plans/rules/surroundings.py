"""What is around the bird and its food: the warmth of the brooder, and how warm the food may be."""

from api.plans.rules import printed
from api.plans.rules.cautions import BROODER_ADVICE
from api.plans.rules.plan import Brooder, Temperature
from api.web.rules.ledger import Ledger
from species.domain.profile import Profile
from species.domain.stage import Stage


def temperature_read(profile: Profile, stage: Stage | None, ledger: Ledger) -> Temperature | None:
    """How warm slurry is given; null for a stage that takes none."""
    warmth = profile.feeding_temperature
    if warmth is None or stage is None or stage.dry_matter_fraction is None:
        return None
    return Temperature(
        target_c=printed.band_entry(ledger, "/temperature/target_c", printed.middle, warmth.band_c),
        low_c=printed.band_entry(ledger, "/temperature/low_c", printed.low, warmth.band_c),
        high_c=printed.band_entry(ledger, "/temperature/high_c", printed.high, warmth.band_c),
        never_above_c=printed.quantity_entry(ledger, "/temperature/never_above_c", warmth.never_above_c),
    )


def brooder_read(stage: Stage | None, ledger: Ledger) -> Brooder:
    """How warm and how moist the brooder is at the bird's stage; null where nothing is printed."""
    warmth, humidity = (stage.brooder_c, stage.humidity_fraction) if stage else (None, None)
    return Brooder(
        target_c=printed.band_entry(ledger, "/brooder/target_c", printed.middle, warmth),
        low_c=printed.band_entry(ledger, "/brooder/low_c", printed.low, warmth),
        high_c=printed.band_entry(ledger, "/brooder/high_c", printed.high, warmth),
        humidity_low_fraction=printed.band_entry(ledger, "/brooder/humidity_low_fraction", printed.low, humidity),
        humidity_high_fraction=printed.band_entry(ledger, "/brooder/humidity_high_fraction", printed.high, humidity),
        advice=BROODER_ADVICE,
    )
