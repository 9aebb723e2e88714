"""Style sheets and scripts of a page sent as one file each: a page asks less often.

The parts stay apart under static; an address names them in their order, with the digest of what
they hold together: ``/static/joined/tokens+base.css?v=...``.
"""

from __future__ import annotations

import gzip
from functools import lru_cache
from hashlib import sha256

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response
from markupsafe import Markup

from server.paths import STATIC

_KINDS = {"css": "text/css; charset=utf-8", "js": "text/javascript; charset=utf-8"}
_MOST_PARTS = 12
router = APIRouter(include_in_schema=False)


def styles(*names: str) -> Markup:
    """The link to these style sheets of static/css, joined in this order."""
    return Markup('<link rel="stylesheet" href="{}">').format(_address(names, "css"))


def scripts(*names: str) -> Markup:
    """The deferred script that holds these of static/js, run in this order."""
    return Markup('<script src="{}" defer></script>').format(_address(names, "js"))


@router.get("/static/joined/{names}.{kind}")
def joined(request: Request, names: str, kind: str) -> Response:
    """Parts in one file, gzipped where the browser takes it."""
    parts = tuple(names.split("+"))
    known = _known(kind) if kind in _KINDS else frozenset()
    if len(parts) > _MOST_PARTS or len(set(parts)) < len(parts) or not known.issuperset(parts):
        raise HTTPException(404)
    text, headers = _text(parts, kind), {"Vary": "Accept-Encoding"}
    if "gzip" in request.headers.get("accept-encoding", ""):
        text, headers["Content-Encoding"] = _gzipped(text), "gzip"
    return Response(text, media_type=_KINDS[kind], headers=headers)


@lru_cache(maxsize=128)
def _address(names: tuple[str, ...], kind: str) -> str:
    digest = sha256(_text(names, kind)).hexdigest()[:10]
    return f"/static/joined/{'+'.join(names)}.{kind}?v={digest}"


@lru_cache(maxsize=2)
def _known(kind: str) -> frozenset[str]:
    return frozenset(path.stem for path in (STATIC / kind).glob(f"*.{kind}"))


def _text(names: tuple[str, ...], kind: str) -> bytes:
    return b"\n".join((STATIC / kind / f"{name}.{kind}").read_bytes() for name in names)


@lru_cache(maxsize=64)
def _gzipped(text: bytes) -> bytes:
    return gzip.compress(text, 9)
