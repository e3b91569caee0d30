"""Addresses of the kitchen, under /api/v1."""

from django.urls import path

from api.kitchen.views.formulas import FormulaListView, FormulaVersionsView, FormulaView
from api.kitchen.views.kitchens import KitchenView

urlpatterns = [
    path("formulas", FormulaListView.as_view(), name="formulas"),
    path("formulas/<uuid:record_id>", FormulaView.as_view(), name="formula"),
    path("formulas/<uuid:record_id>/versions", FormulaVersionsView.as_view(), name="formula-versions"),
    path("sites/<uuid:record_id>/kitchen", KitchenView.as_view(), name="kitchen"),
]
