"""The network's own formulas."""

from typing import Any

from django.db.models import QuerySet

from api.kitchen import selectors, services
from api.kitchen.models import Formula
from api.kitchen.serializers import FormulaChangeIn, FormulaIn, FormulaOut
from api.networks.rules.roles import Part
from api.networks.views.described import described_list, described_one, described_versions
from api.networks.views.records import Made, RecordListView, RecordVersionsView, RecordView

READ, WRITE = "kitchen:read", "kitchen:write"


@described_list("formula", "formulas", FormulaOut)
class FormulaListView(RecordListView):
    part = Part.FORMULAS
    required_scopes = {"GET": READ, "POST": WRITE}
    serializer_in = FormulaIn

    def rows(self) -> QuerySet[Formula]:
        return selectors.formulas()

    def make(self, **fields: Any) -> Made:
        return services.formula_create(**fields)


@described_one("formula", "formulas", FormulaOut)
class FormulaView(RecordView):
    part = Part.FORMULAS
    required_scopes = {"GET": READ, "PATCH": WRITE, "DELETE": WRITE}
    of = FormulaListView
    serializer_change = FormulaChangeIn

    def change(self, record: Formula, **fields: Any) -> None:
        services.formula_change(record, **fields)

    def remove(self, record: Formula) -> None:
        services.formula_remove(record)


@described_versions("formula", "formulas")
class FormulaVersionsView(RecordVersionsView):
    part = Part.FORMULAS
    required_scopes = {"GET": READ}
    of = FormulaListView
    kind = Formula.KIND
