"""What is known of a bird's species: its profile, and how far it may be used."""

from species.domain.profile import Profile
from species.domain.record import Record


class Known(Record, frozen=True, kw_only=True):
    """What is known of a bird's species.

    ``listed`` is false where the profile was inferred for a species without one; ``identified`` where not even its
    food guild was told; ``practised`` where its guild has no printed practice, and so no amounts.
    """

    profile: Profile
    listed: bool = True
    identified: bool = True
    practised: bool = True
