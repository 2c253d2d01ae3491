"""Films that lie in a bucket only, answered stretch by stretch without a copy on this machine."""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import chain

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from review.store.bucket import Bucket


def from_bucket(
    request: Request, bucket: Bucket, place: str, size: int, media_type: str, headers: Mapping[str, str]
) -> Response:
    """Answer with a film of a bucket, or the stretch of its bytes that the request's ``Range`` asks for.

    The first bytes are read before the answer begins, so that a bucket out of reach is told as an error. A ``Range`` of
    several stretches, or one that cannot be read, is answered with the whole film, as RFC 9110, 14.2 allows.

    Raises
    ------
    StoreBroken
        If the bucket cannot be used.
    """
    asked = stretch(request.headers.get("range", ""), size)
    if asked is not None and asked[0] >= asked[1]:
        return Response(status_code=416, headers={**headers, "Content-Range": f"bytes */{size}"})
    start, stop = asked or (0, size)
    told = {**headers, "Accept-Ranges": "bytes", "Content-Length": str(stop - start)}
    if asked is not None:
        told["Content-Range"] = f"bytes {start}-{stop - 1}/{size}"
    status = 200 if asked is None else 206
    if request.method == "HEAD":
        return Response(status_code=status, headers=told, media_type=media_type)
    pieces = bucket.read(place, start, stop)
    first = next(pieces, b"")
    return StreamingResponse(chain([first], pieces), status, told, media_type)


def stretch(asked: str, size: int) -> tuple[int, int] | None:
    """Return the first byte that a ``Range`` asks for and the one after its last; None for the whole.

    A start that is not before the end cannot be answered.

    >>> stretch("bytes=2-3", 10), stretch("bytes=8-", 10), stretch("bytes=-3", 10), stretch("bytes=10-", 10)
    ((2, 4), (8, 10), (7, 10), (10, 10))
    """
    found = re.fullmatch(r"bytes=\s*(\d{0,18})-(\d{0,18})\s*", asked)
    if found is None or not (found[1] or found[2]):
        return None
    if not found[1]:
        return (max(0, size - int(found[2])), size)
    start = int(found[1])
    last = int(found[2]) if found[2] else max(start, size)
    return None if last < start else (start, min(last + 1, size))
