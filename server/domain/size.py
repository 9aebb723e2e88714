"""How large a site may grow: what a file can carry away, and what the pages can still show."""

from __future__ import annotations

import json

from server.domain.errors import Problem, SiteFileError
from server.domain.site import Site

MAX_FILE_BYTES = 5_000_000
_ENVELOPE_BYTES = 400
_SURELY_FITS = 0.9  # numbers are written a little longer in a file


def refuse_too_large(site: Site) -> None:
    """Refuse to keep a site that could not be taken away as a file any more.

    Raises
    ------
    SiteFileError   When its file would be larger than ``MAX_FILE_BYTES``.
    """
    if _bytes_of(site.model_dump_json(indent=2)) < _SURELY_FITS * MAX_FILE_BYTES:
        return
    text = json.dumps(site.model_dump(mode="json"), ensure_ascii=False, indent=2)
    if _bytes_of(text) > MAX_FILE_BYTES:
        message = (
            f"This makes the site larger than {MAX_FILE_BYTES / 1e6:g} MB, more than a site file "
            "holds, so it was not saved. Shorten its notes or take scenarios away."
        )
        raise SiteFileError((Problem("", message),))


def _bytes_of(text: str) -> int:
    """Length of a site in its file, where every line stands two spaces further in."""
    return len(text.encode()) + 2 * text.count("\n") + _ENVELOPE_BYTES
