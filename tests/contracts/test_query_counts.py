"""How many queries a request takes, fixed in a file: a loop over rows shows at once.

``UPDATE_QUERY_COUNTS=1`` writes the file anew; its change is then read in review.
"""

import json
import os
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.factories import bearer, make_member, make_token, make_two_networks

FILE = Path(__file__).with_name("query_counts.json")
REQUESTS = {
    "GET /api/v1/health": "/api/v1/health",
    "GET /api/v1/members": "/api/v1/members?limit=200",
}


def counted(api, address, caller) -> int:
    api.get(address, **caller)  # what is read once a process is not counted
    with CaptureQueriesContext(
        connection,
    ) as queries:
        assert api.get(address, **caller).status_code == 200
    return len(queries)


@pytest.mark.django_db
@pytest.mark.parametrize("name", REQUESTS)
def test_the_count_is_the_one_in_the_file_and_does_not_grow_with_the_rows(api, name):
    two = make_two_networks()
    caller = bearer(make_token(two.member))
    counts = []
    for rows in (3, 27):
        for _ in range(rows):
            make_member(two.own)
        counts.append(counted(api, REQUESTS[name], caller))
    assert counts[0] == counts[1]
    fixed = json.loads(FILE.read_text()) if FILE.exists() else {}
    if os.environ.get("UPDATE_QUERY_COUNTS") == "1":
        FILE.write_text(json.dumps({**fixed, name: counts[0]}, indent=2, sort_keys=True) + "\n")
        fixed[name] = counts[0]
    assert counts[0] == fixed[name]


def test_the_file_holds_nothing_else():
    assert set(json.loads(FILE.read_text())) == set(REQUESTS)
