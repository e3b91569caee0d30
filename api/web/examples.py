"""Examples of the OpenAPI document: requests and answers that a test has sent and received, never typed.

A file of ``docs/examples`` is named after its operation and its title, ``mixes_create.two-birds.json``, and holds
``{"title", "request", "status", "response"}``; tests write it and hold it against what comes today.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings


def folder() -> Path:
    return Path(settings.BASE_DIR) / "docs" / "examples"


def add_examples(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Every captured exchange, at its operation: the body sent and the body that came back."""
    operations = {
        operation["operationId"]: operation
        for methods in result.get("paths", {}).values()
        for operation in methods.values()
    }
    for operation_id, name, exchange in _captured():
        operation = operations.get(operation_id)
        if operation is None:
            continue
        sent, came = exchange["request"], exchange["response"]
        answer = operation["responses"].get(str(exchange["status"]), {})
        for content, value in ((operation.get("requestBody", {}), sent), (answer, came)):
            for media in content.get("content", {}).values():
                if value is not None:
                    media.setdefault("examples", {})[name] = {"summary": exchange["title"], "value": value}
    return result


def _captured() -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path in sorted(folder().glob("*.json")):
        operation_id, name, _ = path.name.split(".")
        yield operation_id, name, json.loads(path.read_text(encoding="utf-8"))
