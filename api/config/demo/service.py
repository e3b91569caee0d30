"""The service's own API, asked in this process: what an app would send and get, without a port."""

from typing import Any
from uuid import UUID, uuid5

from django.test import Client

BASE = "/api/v1"
#: Records of the demonstration have the same ids in every run of a day, so that sending them again is no harm.
NAMES = UUID("5d0a8a2e-6f0b-4b7c-9a51-0c7a3d1f2b64")


class DemoRefusedError(RuntimeError):
    """The service refused what the scenario asks for; the problem says why."""


class Service:
    """Asks the API in the name of a token and reads its answers."""

    def __init__(self, token: str) -> None:
        self._client = Client(HTTP_HOST="localhost", HTTP_AUTHORIZATION=f"Bearer {token}")

    def get(self, path: str) -> dict[str, Any]:
        """Read an address."""
        return self._answer(path, self._client.get(f"{BASE}{path}"))

    def text(self, path: str) -> str:
        """Read an address that answers with a page."""
        response = self._client.get(f"{BASE}{path}")
        return response.content.decode() if response.status_code == 200 else str(self._answer(path, response))

    def post(self, path: str, body: dict[str, Any]) -> dict[str, Any]:
        """Send a body, give back the answer."""
        return self._answer(path, self._client.post(f"{BASE}{path}", data=body, content_type="application/json"))

    def put(self, path: str, body: dict[str, Any]) -> dict[str, Any]:
        """Put a body over the version that is there now."""
        headers = {"If-Match": "*"}
        sent = self._client.put(f"{BASE}{path}", data=body, content_type="application/json", headers=headers)
        return self._answer(path, sent)

    def pages(self, path: str) -> list[dict[str, Any]]:
        """All records of a list, page by page."""
        results, cursor = [], ""
        while True:
            page = self.get(f"{path}{'&' if '?' in path else '?'}limit=200{cursor}")
            results += page["results"]
            if page["next"] is None:
                return results
            cursor = f"&cursor={page['next']}"

    def _answer(self, path: str, response: Any) -> dict[str, Any]:
        answer: dict[str, Any] = response.json()
        if response.status_code not in (200, 201):
            errors = "; ".join(f"{e['pointer']}: {e['detail']}" for e in answer.get("errors", []))
            raise DemoRefusedError(f"{path}: {answer.get('detail')} {errors}")
        return answer


def named(*parts: object) -> str:
    """The id of a record, by what it is."""
    return str(uuid5(NAMES, "/".join(str(part) for part in parts)))
