"""Real exchanges kept as documentation: recorded with UPDATE_EXAMPLES=1, compared in every other run."""

import json
import os
from typing import Any

from django.http import HttpResponse

from api.web.examples import folder

UPDATING = os.environ.get("UPDATE_EXAMPLES") == "1"


def example(operation_id: str, name: str, title: str, request: Any, response: HttpResponse) -> None:
    """Record an exchange, or hold it against the recorded one.

    Parameters
    ----------
    operation_id, name
        The file is ``docs/examples/{operation_id}.{name}.json``.
    title
        One line for the reader of the document.
    request
        Body or query that was sent.
    response
        What came back.
    """
    came = {
        "title": title,
        "request": request,
        "status": response.status_code,
        "response": json.loads(response.content),
    }
    path = folder() / f"{operation_id}.{name}.json"
    if UPDATING:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(came, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
        return
    assert path.is_file(), f"{path.name} is not recorded yet: run with UPDATE_EXAMPLES=1."
    recorded = json.loads(path.read_text(encoding="utf-8"))
    assert came == recorded, f"{path.name} is not what comes today: look why, then run with UPDATE_EXAMPLES=1."
