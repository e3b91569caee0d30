"""What a report takes from a bird's growth assessment."""

from uuid import UUID

from api.growth.rules.assessment import Assessment
from api.reports.rules.seen import WeightsDrawn


def weights_drawn(bird_id: UUID, assessment: Assessment) -> WeightsDrawn | None:
    """The figures behind a chart, for those who do not see it; None where no weighing is believed."""
    believed = [point for point in assessment.points if point.state == "accepted"]
    if not believed:
        return None
    last = max(believed, key=lambda point: point.at)
    return WeightsDrawn(
        bird_id=bird_id,
        weighings=tuple((point.at, point.mass_g) for point in believed),
        expected_g=last.expected_g,
        low_g=last.low_g,
        high_g=last.high_g,
    )
