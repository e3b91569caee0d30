"""If-Match on a row that is held: of two changes to one version the second is refused (RFC 9110, section 13.1.1)."""

import json
import threading

import pytest
from django.db import connection, models, transaction
from django.test.utils import isolate_apps
from django.urls import path
from rest_framework.response import Response
from rest_framework.test import APIClient

from api.web import etags
from api.web.views import OpenView
from tests.database import at_once

with isolate_apps("api.web"):

    class Record(models.Model):
        """A record as the rooms have them, with the little that a change needs."""

        version = models.PositiveIntegerField(default=1)
        mass_g = models.FloatField()

        class Meta:
            app_label = "web"

        def __str__(self):
            return f"{self.pk} in version {self.version}"


class Change(OpenView):
    @transaction.atomic
    def patch(self, request, which):
        row = etags.matching_row(request, Record.objects.all(), pk=which)
        row.version += 1
        row.mass_g = request.data["mass_g"]
        row.save()
        return Response({"version": row.version, "mass_g": row.mass_g}, headers={"ETag": etags.of_version(row.version)})


class Urls:
    urlpatterns = [path("api/v1/held/<int:which>", Change.as_view())]
    handler404 = "api.web.fallbacks.not_found"


@pytest.fixture
def record(shared_database, settings):
    settings.ROOT_URLCONF = Urls
    with connection.schema_editor() as editor:
        editor.create_model(Record)
    yield Record.objects.create(mass_g=80)
    with connection.schema_editor() as editor:
        editor.delete_model(Record)


def change(record, mass_g=90, **headers):
    return APIClient(raise_request_exception=False).patch(f"/api/v1/held/{record}", {"mass_g": mass_g}, **headers)


def test_the_version_decides(record):
    assert change(record.pk).status_code == 428
    assert change(record.pk, HTTP_IF_MATCH='W/"1"').status_code == 412
    assert change(record.pk, HTTP_IF_MATCH='"1"')["ETag"] == '"2"'
    late = change(record.pk, HTTP_IF_MATCH='"1"')
    assert (late.status_code, late["ETag"]) == (412, '"2"')
    assert change(record.pk, HTTP_IF_MATCH='"7", "2"').status_code == 200
    assert change(record.pk, HTTP_IF_MATCH="*")["ETag"] == '"4"'


def test_what_is_not_there_is_404_and_without_if_match_428(record):
    assert change(record.pk + 1, HTTP_IF_MATCH='"1"').status_code == 404
    assert change(record.pk + 1).status_code == 428


def test_of_many_changes_to_one_version_one_is_made(record):
    barrier = threading.Barrier(8)

    def one(mass_g):
        barrier.wait(30)
        return change(record.pk, mass_g, HTTP_IF_MATCH='"1"')

    answers = at_once(*[lambda mass_g=mass_g: one(mass_g) for mass_g in range(81, 89)])
    assert sorted(answer.status_code for answer in answers) == [200] + [412] * 7
    record.refresh_from_db()
    made = next(answer for answer in answers if answer.status_code == 200)
    assert json.loads(made.content) == {"version": 2, "mass_g": record.mass_g}
    assert record.version == 2
