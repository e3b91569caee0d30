"""Names of closed lists in the OpenAPI document, fixed here: a new field renames no list that clients know.

A list takes the name of its enum and not, as by default, of the first field that holds it.
"""

from enum import StrEnum

from api.birds.rules.words import (
    Aim,
    Alertness,
    Body,
    BodyCondition,
    CauseCertainty,
    Certainty,
    Context,
    Crop,
    CropContent,
    CropWall,
    Droppings,
    Hydration,
    Isolation,
    Origin,
    OutcomeKind,
    Purpose,
    Rearing,
    Response,
    Sex,
    Sign,
    Swallowing,
    WeighingState,
)
from api.growth.rules.assessment import Status
from api.plans.rules.mix import MixOrder
from api.plans.rules.plan import Decision
from api.reports.rules.report import Need
from api.web.rules.cautions import Severity
from species.domain.vocabulary import DevelopmentalMode, FoodGuild, Method, MilestoneKey, Portion, Skill

_ENUMS: tuple[type[StrEnum], ...] = (
    Aim,
    Alertness,
    Body,
    BodyCondition,
    CauseCertainty,
    Certainty,
    Context,
    Crop,
    CropContent,
    CropWall,
    Decision,
    DevelopmentalMode,
    Droppings,
    FoodGuild,
    Hydration,
    Isolation,
    Method,
    MilestoneKey,
    MixOrder,
    Need,
    Origin,
    OutcomeKind,
    Portion,
    Purpose,
    Rearing,
    Response,
    Severity,
    Sex,
    Sign,
    Skill,
    Swallowing,
)

NAMES: dict[str, list[str] | str] = {
    **{f"{enum.__name__}Enum": [word.value for word in enum] for enum in _ENUMS},
    "GrowthStatusEnum": [word.value for word in Status],
    "HealthStatusEnum": ["ok"],
    "WeighingStateEnum": ["accepted", "questioned"],
    "RecordedWeighingStateEnum": [word.value for word in WeighingState],
    "WeighingAnswerEnum": [WeighingState.CONFIRMED.value, WeighingState.REJECTED.value],
    "ReadinessStatusEnum": ["ready"],
    # By its address: models are not to be read before the settings are.
    "AlertStateEnum": "api.alerts.models.AlertState",
    "OpEnum": "api.outbox.models.Op",
    "ResolutionEnum": "api.alerts.models.Resolution",
    "RoleEnum": "api.networks.models.Role",
    "SiteKindEnum": "api.networks.models.SiteKind",
}
