"""Bodies sent in chunks, without a length."""

from collections.abc import Iterable
from io import BytesIO
from typing import Any

from django.conf import settings


class LengthFromChunks:
    """Give a chunked request its length, so that Django does not take its body for empty.

    Django reads as many bytes as Content-Length says, none where it is missing. A server that undoes chunks
    itself says so by ``wsgi.input_terminated``. Of a body beyond the limit only so much is read as shows it.
    """

    def __init__(self, application: Any) -> None:
        self.application = application

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        chunked = "chunked" in environ.get("HTTP_TRANSFER_ENCODING", "").lower()
        if chunked and environ.get("wsgi.input_terminated") and not environ.get("CONTENT_LENGTH"):
            body = environ["wsgi.input"].read(settings.MAX_BODY_BYTES + 1)
            environ["wsgi.input"] = BytesIO(body)
            environ["CONTENT_LENGTH"] = str(len(body))
        return self.application(environ, start_response)
