"""Names of closed lists in the OpenAPI document, fixed here: a new field renames no list that clients know.

A list takes the name of its enum and not, as by default, of the first field that holds it.
"""

from enum import StrEnum

from api.birds.rules.words import (
    Aim,
    Alertness,
    Body,
    BodyCondition,
    Certainty,
    Context,
    Crop,
    CropContent,
    CropWall,
    Droppings,
    Hydration,
    Origin,
    Rearing,
    Sex,
    Sign,
    Swallowing,
)
from api.growth.rules.assessment import Status
from api.plans.rules.mix import MixOrder
from api.plans.rules.plan import Decision
from api.web.rules.cautions import Severity
from species.domain.vocabulary import DevelopmentalMode, FoodGuild, MilestoneKey, Portion, Skill

_ENUMS: tuple[type[StrEnum], ...] = (
    Aim,
    Alertness,
    Body,
    BodyCondition,
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
    MilestoneKey,
    MixOrder,
    Origin,
    Portion,
    Rearing,
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
    "ReadinessStatusEnum": ["ready"],
    # By its address: models are not to be read before the settings are.
    "OpEnum": "api.outbox.models.Op",
    "RoleEnum": "api.networks.models.Role",
    "SiteKindEnum": "api.networks.models.SiteKind",
}
