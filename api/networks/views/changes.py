"""The feed of changes, for apps that keep a copy."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.networks.rules.feed import kinds_seen
from api.networks.views.records import MemberView
from api.outbox.selectors import BeyondEndError, CursorExpiredError, changes_page
from api.outbox.serializers import ChangesOut, ChangesParameters
from api.web import etags
from api.web.problem import Fault, Problem, refused
from api.web.views import NoStore


class ChangeListView(NoStore, MemberView):
    required_scopes = {"GET": "changes:read"}
    query_serializer = ChangesParameters
    also_answers = (410,)

    @extend_schema(
        operation_id="changes_list",
        summary="What has changed behind a position",
        parameters=[ChangesParameters],
        responses=ChangesOut,
        tags=["outbox"],
    )
    def get(self, request: Request) -> Response:
        """For an app that keeps a copy.

        Begin with `after=latest` and keep `next`, then read the lists, then follow from `next`. Each change holds the
        record as its own address tells it, so applying one twice does no harm; one of a lower version than the copy's
        is passed over. `op` is `put`, or `gone` with `data` null: the record was removed, or has left the sites that
        the token's owner sees. Told is what the token may read at the records' own addresses, by its other scopes and
        its owner's sites; `sight` names that. Once `sight` differs from the answer before, begin anew: what comes into
        sight by it is not told again.
        """
        kinds, site_ids = kinds_seen(request.auth.scope.split()), self.caller.site_ids
        try:
            page = changes_page(
                after=self.query.get("after"), limit=self.query["limit"], kinds=kinds, site_ids=site_ids
            )
        except CursorExpiredError as expired:
            anew = f"Begin anew: keep {expired.end} as the position, read the lists, then follow from there."
            raise Problem(
                "gone",
                f"The changes behind this position are no longer kept. {anew}",
                errors=[Fault("?after", "position_expired", anew)],
                extra={"next": expired.end},
            ) from expired
        except BeyondEndError as beyond:
            raise refused(
                "?after",
                "position_beyond_end",
                f"The network's feed ends at {beyond.end}. If this position came from it, the service was set back to "
                f"an earlier state: keep {beyond.end} as the position, read the lists, then follow from there.",
            ) from beyond
        sight = etags.strong(sorted(kinds), site_ids if site_ids is None else sorted(map(str, site_ids))).strip('"')
        answer = {"changes": page.changes, "next": page.next, "more": page.more, "sight": sight}
        return Response(ChangesOut(answer).data)
