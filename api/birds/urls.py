"""Addresses of birds and their records under /api/v1."""

from django.urls import path

from api.birds.views import birds, records

KINDS = (
    ("birds", birds.BirdListView, birds.BirdBatchView, birds.BirdView, birds.BirdVersionsView),
    (
        "weighings",
        records.WeighingListView,
        records.WeighingBatchView,
        records.WeighingView,
        records.WeighingVersionsView,
    ),
    ("feeds", records.FeedListView, records.FeedBatchView, records.FeedView, records.FeedVersionsView),
    (
        "crop-checks",
        records.CropCheckListView,
        records.CropCheckBatchView,
        records.CropCheckView,
        records.CropCheckVersionsView,
    ),
    (
        "milestones",
        records.MilestoneListView,
        records.MilestoneBatchView,
        records.MilestoneView,
        records.MilestoneVersionsView,
    ),
)

urlpatterns = [
    path("birds/<uuid:record_id>/outcome", birds.BirdOutcomeView.as_view(), name="bird-outcome"),
    path("birds/<uuid:record_id>/move", birds.BirdMoveView.as_view(), name="bird-move"),
]
for kind, many, batch, one, versions in KINDS:
    urlpatterns += [
        path(kind, many.as_view(), name=kind),
        path(f"{kind}/batch", batch.as_view(), name=f"{kind}-batch"),
        path(f"{kind}/<uuid:record_id>", one.as_view(), name=f"{kind}-one"),
        path(f"{kind}/<uuid:record_id>/versions", versions.as_view(), name=f"{kind}-versions"),
    ]
