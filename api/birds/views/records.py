"""What is recorded of a bird: weighings, feeds, crop checks, milestones."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet

from api.birds import selectors, services
from api.birds.models import Bird, CropCheck, Feed, Milestone, Weighing
from api.birds.serializers import (
    CropCheckRecordChangeIn,
    CropCheckRecordIn,
    CropCheckRecordOut,
    FeedRecordChangeIn,
    FeedRecordIn,
    FeedRecordOut,
    MilestoneRecordChangeIn,
    MilestoneRecordIn,
    MilestoneRecordOut,
    RecordParameters,
    WeighingRecordChangeIn,
    WeighingRecordIn,
    WeighingRecordOut,
)
from api.networks.rules.roles import Part
from api.networks.views.described import described_batch, described_list, described_one, described_versions
from api.networks.views.records import Made, RecordBatchView, RecordListView, RecordVersionsView, RecordView

READ, WRITE = "birds:read", "birds:write"


class _ListView(RecordListView):
    """Records of birds, in the order of their time."""

    part = Part.BIRDS
    required_scopes = {"GET": READ, "POST": WRITE}
    query_serializer = RecordParameters
    order: ClassVar[tuple[str, ...]] = ("at", "uid")

    #: The birds of a batch.
    held: Mapping[UUID, Bird] = MappingProxyType({})

    def hold(self, items: Sequence[Mapping[str, Any]]) -> None:
        self.held = services.birds_hold(self.caller, [item["bird_id"] for item in items])


class _BatchView(RecordBatchView):
    part = Part.BIRDS
    required_scopes = {"POST": WRITE}


class _View(RecordView):
    part = Part.BIRDS
    required_scopes = {"GET": READ, "PATCH": WRITE, "DELETE": WRITE}

    def hold(self, record_id: UUID, fields: Mapping[str, Any]) -> None:
        joining = [fields["bird_id"]] if "bird_id" in fields else []
        services.birds_hold(self.caller, joining, of=self.rows().filter(uid=record_id))


class _VersionsView(RecordVersionsView):
    part = Part.BIRDS
    required_scopes = {"GET": READ}


@described_list("weighing", "weighings", WeighingRecordOut)
class WeighingListView(_ListView):
    serializer_in = WeighingRecordIn

    def rows(self, **filters: Any) -> QuerySet[Weighing]:
        return selectors.weighings(self.caller, **filters)

    def make(self, **fields: Any) -> Made:
        return services.weighing_record(caller=self.caller, held=self.held, **fields)


@described_batch("weighings", WeighingRecordOut)
class WeighingBatchView(_BatchView):
    of = WeighingListView


@described_one("weighing", "weighings", WeighingRecordOut)
class WeighingView(_View):
    of = WeighingListView
    serializer_change = WeighingRecordChangeIn

    def change(self, record: Weighing, **fields: Any) -> None:
        services.weighing_change(record, caller=self.caller, **fields)

    def remove(self, record: Weighing) -> None:
        services.weighing_remove(record, caller=self.caller)


@described_versions("weighing", "weighings")
class WeighingVersionsView(_VersionsView):
    of = WeighingListView
    kind = Weighing.KIND


@described_list("feed", "feeds", FeedRecordOut)
class FeedListView(_ListView):
    serializer_in = FeedRecordIn

    def rows(self, **filters: Any) -> QuerySet[Feed]:
        return selectors.feeds(self.caller, **filters)

    def make(self, **fields: Any) -> Made:
        return services.feed_record(caller=self.caller, held=self.held, **fields)


@described_batch("feeds", FeedRecordOut)
class FeedBatchView(_BatchView):
    of = FeedListView


@described_one("feed", "feeds", FeedRecordOut)
class FeedView(_View):
    of = FeedListView
    serializer_change = FeedRecordChangeIn

    def change(self, record: Feed, **fields: Any) -> None:
        services.feed_change(record, caller=self.caller, **fields)

    def remove(self, record: Feed) -> None:
        services.feed_remove(record, caller=self.caller)


@described_versions("feed", "feeds")
class FeedVersionsView(_VersionsView):
    of = FeedListView
    kind = Feed.KIND


@described_list("crop check", "crop_checks", CropCheckRecordOut)
class CropCheckListView(_ListView):
    serializer_in = CropCheckRecordIn

    def rows(self, **filters: Any) -> QuerySet[CropCheck]:
        return selectors.crop_checks(self.caller, **filters)

    def make(self, **fields: Any) -> Made:
        return services.crop_check_record(caller=self.caller, held=self.held, **fields)


@described_batch("crop_checks", CropCheckRecordOut)
class CropCheckBatchView(_BatchView):
    of = CropCheckListView


@described_one("crop check", "crop_checks", CropCheckRecordOut)
class CropCheckView(_View):
    of = CropCheckListView
    serializer_change = CropCheckRecordChangeIn

    def change(self, record: CropCheck, **fields: Any) -> None:
        services.crop_check_change(record, caller=self.caller, **fields)

    def remove(self, record: CropCheck) -> None:
        services.crop_check_remove(record, caller=self.caller)


@described_versions("crop check", "crop_checks")
class CropCheckVersionsView(_VersionsView):
    of = CropCheckListView
    kind = CropCheck.KIND


@described_list("milestone", "milestones", MilestoneRecordOut)
class MilestoneListView(_ListView):
    serializer_in = MilestoneRecordIn
    order = ("observed_at", "uid")

    def rows(self, **filters: Any) -> QuerySet[Milestone]:
        return selectors.milestones(self.caller, **filters)

    def make(self, **fields: Any) -> Made:
        return services.milestone_record(caller=self.caller, held=self.held, **fields)


@described_batch("milestones", MilestoneRecordOut)
class MilestoneBatchView(_BatchView):
    of = MilestoneListView


@described_one("milestone", "milestones", MilestoneRecordOut)
class MilestoneView(_View):
    of = MilestoneListView
    serializer_change = MilestoneRecordChangeIn

    def change(self, record: Milestone, **fields: Any) -> None:
        services.milestone_change(record, caller=self.caller, **fields)

    def remove(self, record: Milestone) -> None:
        services.milestone_remove(record, caller=self.caller)


@described_versions("milestone", "milestones")
class MilestoneVersionsView(_VersionsView):
    of = MilestoneListView
    kind = Milestone.KIND
