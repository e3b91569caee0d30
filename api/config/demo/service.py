"""The service's own API, asked in this process: what an app would send and get, without a port."""

from typing import Any

from django.test import Client

BASE = "/api/v1"


class DemoRefusedError(RuntimeError):
    """The service refused what the scenario asks for; the problem says why."""


class Service:
    """Posts to the API and reads its answers."""

    def __init__(self) -> None:
        self._client = Client(HTTP_HOST="localhost")

    def get(self, path: str) -> dict[str, Any]:
        """Read an address."""
        return self._answer(path, self._client.get(f"{BASE}{path}"))

    def post(self, path: str, body: dict[str, Any]) -> dict[str, Any]:
        """Send a body, give back the answer; raise where it is a problem."""
        return self._answer(path, self._client.post(f"{BASE}{path}", data=body, content_type="application/json"))

    def _answer(self, path: str, response: Any) -> dict[str, Any]:
        answer: dict[str, Any] = response.json()
        if response.status_code != 200:
            errors = "; ".join(f"{e['pointer']}: {e['detail']}" for e in answer.get("errors", []))
            raise DemoRefusedError(f"{path}: {answer.get('detail')} {errors}")
        return answer
