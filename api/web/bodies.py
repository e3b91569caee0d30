"""Bodies on their way from the server to Django."""

from collections.abc import Iterable
from io import BytesIO
from typing import Any

from django.conf import settings

_PIECE_BYTES = 65_536
# What is read and thrown away for the sake of an answer that arrives; a longer body is cut off.
PATIENCE_BYTES = 32 * 1024 * 1024


class _Counted:
    """A stream that knows how much of it has been read."""

    def __init__(self, stream: Any) -> None:
        self.stream = stream
        self.read_bytes = 0

    def read(self, size: int = -1) -> bytes:
        return self._count(self.stream.read(size))

    def readline(self, size: int = -1) -> bytes:
        return self._count(self.stream.readline(size))

    def _count(self, piece: bytes) -> bytes:
        self.read_bytes += len(piece)
        return piece


class WholeBodies:
    """Gives a body sent in chunks its length, and hears out a sender whose body nobody read.

    Django reads as many bytes as Content-Length says and takes a body without it for empty. A server that
    undoes chunks itself says so by ``wsgi.input_terminated``; of a body beyond the limit only so much is kept
    as shows it.

    A refusal that leaves while the body is still coming in is lost: the connection is reset under a sender who
    is still writing. So what is left over is read and thrown away first.
    """

    def __init__(self, application: Any) -> None:
        self.application = application

    def __call__(self, environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        body = environ["wsgi.input"] = _Counted(environ["wsgi.input"])
        length = environ.get("CONTENT_LENGTH") or ""
        chunked = "chunked" in environ.get("HTTP_TRANSFER_ENCODING", "").lower()
        left_over = int(length) if length.isdigit() else 0
        if chunked and environ.get("wsgi.input_terminated") and not length:
            kept = body.read(settings.MAX_BODY_BYTES + 1)
            environ["wsgi.input"] = BytesIO(kept)
            environ["CONTENT_LENGTH"] = str(len(kept))
            left_over = PATIENCE_BYTES  # its end is known when it is reached
        answer = self.application(environ, start_response)
        left_over = min(left_over, PATIENCE_BYTES)
        while body.read_bytes < left_over and body.read(min(_PIECE_BYTES, left_over - body.read_bytes)):
            pass
        return answer  # type: ignore[no-any-return]
