"""manage.py serve from nothing: a server that answers, refuses and ends when it is told to."""

import json
import signal
import socket
import subprocess
import sys
import time
from http.client import HTTPConnection
from pathlib import Path

import pytest

from tests import apart

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    port = apart.free_port()
    log = tmp_path_factory.mktemp("serve") / "log"
    with log.open("w") as output:
        process = subprocess.Popen(
            [sys.executable, "manage.py", "serve", "--bind", f"127.0.0.1:{port}", "--workers", "1"],
            cwd=ROOT,
            env=apart.environment(log.parent / "var"),
            stdout=output,
            stderr=subprocess.STDOUT,
        )
        try:
            for _ in range(300):
                try:
                    socket.create_connection(("127.0.0.1", port), timeout=1).close()
                    break
                except OSError:
                    assert process.poll() is None, log.read_text()
                    time.sleep(0.2)
            yield port
            process.send_signal(signal.SIGTERM)
            assert process.wait(timeout=25) == 0
        finally:
            if process.poll() is None:
                process.kill()


def send(port, method, path, body=None, **headers):
    connection = HTTPConnection("127.0.0.1", port, timeout=20)
    names = {name.replace("_", "-"): value for name, value in headers.items()}
    connection.request(method, path, body, names, encode_chunked=not isinstance(body, bytes | None))
    answer = connection.getresponse()
    read = answer.read()
    connection.close()
    return answer, read


def test_it_is_ready_with_its_species(server):
    answer, body = send(server, "GET", "/api/v1/ready")
    assert answer.status == 200, body
    assert json.loads(body)["checks"]["packs"]["ok"] is True


@pytest.mark.parametrize("chunked", [False, True])
def test_ten_megabytes_are_413(server, chunked):
    body = b'{"species": "' + b"x" * 10_000_000 + b'"}'
    sent = iter([body[:5_000_000], body[5_000_000:]]) if chunked else body
    more = {"Transfer_Encoding": "chunked"} if chunked else {}
    answer, read = send(server, "POST", "/api/v1/feeding-plans", sent, Content_Type="application/json", **more)
    assert (answer.status, answer.getheader("Content-Type")) == (413, "application/problem+json"), read


def test_a_body_in_chunks_is_read(server):
    sent = iter([b'{"species": "zenaida-macroura",', b'"age_days": 6, "mass_g": 60}'])
    answer, read = send(
        server,
        "POST",
        "/api/v1/feeding-plans",
        sent,
        Content_Type="application/json",
        Transfer_Encoding="chunked",
    )
    assert answer.status == 200, read
    assert json.loads(read)["species"]["key"] == "zenaida-macroura"


def test_the_type_of_a_problem_leads_to_its_page(server):
    _, body = send(server, "GET", "/api/v1/nowhere")
    address = json.loads(body)["type"]
    assert address == f"http://127.0.0.1:{server}/api/v1/problems/not-found"
    answer, page = send(server, "GET", address.partition(str(server))[2], Accept="text/html")
    assert answer.status == 200
    assert b"<h2" in page


def test_the_viewer_and_the_admin_have_their_files(server):
    for path in (
        "/static/drf_spectacular_sidecar/swagger-ui-dist/swagger-ui-bundle.js",
        "/static/admin/css/base.css",
    ):
        assert send(server, "GET", path)[0].status == 200


def test_an_app_reaches_the_token_endpoint_without_a_cookie(server):
    answer, body = send(
        server,
        "POST",
        "/oauth/token",
        b"grant_type=client_credentials&client_id=nobody&client_secret=x",
        Content_Type="application/x-www-form-urlencoded",
    )
    assert (answer.status, json.loads(body)) == (401, {"error": "invalid_client"})
