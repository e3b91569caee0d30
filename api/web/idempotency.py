"""A request sent twice is done once: the Idempotency-Key header.

After the IETF draft "The Idempotency-Key HTTP Header Field" (draft-ietf-httpapi-idempotency-key-header): the key is a
String of RFC 8941, section 3.3.3. The bare spelling, without quotes, is taken for the same key.

A key is reserved by a row of its own transaction, before the work, so that a second request sees it. The answer is
written in the transaction of the work, so that there is one exactly where there is the other. Beside the work that
takes three queries (look, reserve, keep or release), a replay one.
"""

import hashlib
import json
import re
import uuid
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.db import IntegrityError, transaction
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.web import clock
from api.web.models import IdempotentExchange
from api.web.problem import Fault, Problem, faults_problem, refused

HEADER = "Idempotency-Key"
REPLAYED = "Idempotency-Replayed"
KEPT_FOR = timedelta(hours=24)
LONGEST = 255

_KEPT_HEADERS = ("ETag", "Location", "Cache-Control")
# Printable ASCII, with a quote or a backslash only behind a backslash.
_QUOTED = re.compile(r'"((?:[ !#-\[\]-~]|\\["\\])*)"')
# Printable ASCII without what sets apart strings, items and parameters: a header sent twice does not pass for one.
_BARE = re.compile(r"[!#-+\--:<-\[\]-~]+")

IDEMPOTENCY_KEY = OpenApiParameter(
    HEADER,
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    description=(
        "A name of your own for this request, such as a UUID: 1 to 255 printable ASCII characters, best in double "
        "quotes. Needed where the body brings no `id`. Sent again within 24 hours with the same body, the first answer "
        "comes back with `Idempotency-Replayed: true` and nothing is done twice. With another body it is refused "
        "(422); while the first is still at work, it is a conflict (409, with Retry-After)."
    ),
)


def answer_once(request: Request, *, credential: str, needed: bool, act: Callable[[], Response]) -> Response:
    """Do what is asked, unless it has been done under the same key; then give the answer of that time.

    Parameters
    ----------
    credential
        Who asks, as text: each has keys of its own.
    needed
        Whether to refuse a request without a key. A request that names the record it makes may go without.
    act
        Does the work and answers with JSON. It runs in one transaction with the keeping of its answer, and may open
        further ones inside. What it raises, or answers from 400 up, undoes its work and frees the key.

    Raises
    ------
    Problem
        400 for a key that is missing or malformed, 409 while another request holds it, 422 where it has been used
        for another body. 500 is not kept: the next request tries again.
    """
    key = _key(request, needed=needed)
    if key is None:
        return act()
    mine = _Reservation(request, credential, key)
    if (kept := mine.take()) is not None:
        return _replay(kept)
    done = False
    try:
        with transaction.atomic(durable=True):
            answer = act()
            if answer.status_code < 400:
                mine.keep(answer)
            else:
                transaction.set_rollback(True)
        done = answer.status_code < 400
    finally:
        if not done:
            mine.release()
    return answer


def idempotent_exchanges_expire(now: datetime) -> int:
    """Delete what is past its 24 hours; gives how many."""
    deleted, _ = IdempotentExchange.objects.filter(expires_at__lte=now).delete()
    return deleted


class _Reservation:
    """One request's claim to a key."""

    def __init__(self, request: Request, credential: str, key: str) -> None:
        self.key_hash = _hash(credential, str(request.method), request.path, key)
        # The parsed body: a client that writes its JSON anew for the second try asks for the same.
        body = json.dumps(request.data, sort_keys=True)
        self.body_hash = _hash(request.META.get("QUERY_STRING", ""), body)
        self.holder = uuid.uuid4()

    def take(self) -> IdempotentExchange | None:
        """Reserve the key; an exchange comes back where it has been answered already."""
        # Looked at before anything is written: SQLite lets a reader pass while the first request is at work, and
        # would hold up a writer until it is done.
        found = IdempotentExchange.objects.filter(key_hash=self.key_hash).first()
        now = clock.now()
        if found is None or found.is_free(now):
            if not self._reserve(found, now):
                raise _busy()
            return None
        if found.body_hash != self.body_hash:
            raise refused(
                "",
                "idempotency_key_reused",
                f"This {HEADER} came with another body before. Take a new key for a new request, or send the same "
                "body as then.",
            )
        if found.in_flight:
            raise _busy()
        return found

    def _reserve(self, found: IdempotentExchange | None, now: datetime) -> bool:
        """Whether the key is ours now; another request may have been faster."""
        row: dict[str, Any] = {
            "body_hash": self.body_hash,
            "holder": self.holder,
            "status": None,
            "headers": {},
            "body": "",
            "reserved_at": now,
            "answered_at": None,
            "expires_at": now + KEPT_FOR,
        }
        if found is not None:
            unchanged = IdempotentExchange.objects.filter(
                key_hash=self.key_hash, holder=found.holder, answered_at=found.answered_at
            )
            return unchanged.update(**row) == 1
        try:
            with transaction.atomic(durable=True):
                IdempotentExchange.objects.create(key_hash=self.key_hash, **row)
        except IntegrityError:
            return False
        return True

    def keep(self, answer: Response) -> None:
        """Write the answer down; raises where the key has meanwhile gone to another request."""
        kept = self._unanswered().update(
            status=answer.status_code,
            headers={name: answer[name] for name in _KEPT_HEADERS if answer.has_header(name)},
            body=JSONRenderer().render(answer.data).decode(),
            answered_at=clock.now(),
        )
        if kept != 1:
            raise _busy()

    def release(self) -> None:
        self._unanswered().delete()

    def _unanswered(self) -> Any:
        return IdempotentExchange.objects.filter(key_hash=self.key_hash, holder=self.holder, answered_at=None)


def _replay(kept: IdempotentExchange) -> Response:
    data = json.loads(kept.body) if kept.body else None
    return Response(data, status=kept.status, headers={**kept.headers, REPLAYED: "true"})


def _busy() -> Problem:
    return Problem(
        "conflict",
        f"A request with this {HEADER} is still at work. Send it again in a moment for its answer.",
        headers={"Retry-After": "1"},
    )


def _key(request: Request, *, needed: bool) -> str | None:
    sent = request.headers.get(HEADER)
    if sent is None:
        if needed:
            raise _not_understood(
                "idempotency_key_missing",
                f"Send {HEADER} with a name of your own for this request, such as a new UUID, and the same name when "
                "you send it again.",
            )
        return None
    sent = sent.strip()
    if quoted := _QUOTED.fullmatch(sent):
        key = re.sub(r"\\(.)", r"\1", quoted[1])
    else:
        key = sent if _BARE.fullmatch(sent) else ""
    if not 1 <= len(key) <= LONGEST:
        raise _not_understood(
            "idempotency_key_malformed",
            f"{HEADER} is one key of 1 to {LONGEST} printable ASCII characters in double quotes, such as "
            '"2b1f0c6e-8f0e-4f43-9c58-6f4d2a7b9e10".',
        )
    return key


def _not_understood(code: str, detail: str) -> Problem:
    return faults_problem([Fault("", code, detail)])


def _hash(*parts: str) -> str:
    # As a list, so that no two lists of parts run together to one text.
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()
