"""The site file: a site as JSON that can be mailed, kept, read by other programs and read back.

``{"format": "threebus-site", "version": 1, "caution": "...", "site": {...}}``

The caution is for whoever opens the file; nothing reads it.
"""

from __future__ import annotations

import json
from typing import Any

from pydantic import ValidationError

from server.domain.cautions import PLANNING_AID
from server.domain.errors import Problem, SiteFileError
from server.domain.problems import problems_in
from server.domain.site import Site
from server.exchange.strictjson import MAX_BYTES, parse, refuse, shortened
from server.exchange.upgrades import VERSION, upgraded

FORMAT = "threebus-site"
NOT_IN_SCHEMA = (
    "What a schema cannot say, and the reader asks for besides: whole numbers are written without "
    "a point (3, not 3.0); a date is one that its month has; a time zone is one of the IANA "
    "database; text is taken without blanks at its ends and without characters that cannot be "
    "seen, its length counts so, and control characters are refused; parts that are named by id "
    "are there, and what is computed can be. Patterns are of ECMA 262, where $ is the very end."
)
"""Where a file that follows the schema may still be refused, or one that does not be read."""
MAX_PROBLEMS = 50
HOPELESS = 5_000

_ENVELOPE = ("format", "version", "site")
_UNREAD = ("caution",)


def read_site_file(data: bytes) -> Site:
    """The site in a site file of any version.

    Raises
    ------
    SiteFileError   When it cannot be read or computed; its problems name the fields (dotted
                    paths inside the site) and the mend.
    """
    document = parse(data)
    site = upgraded(*_opened(document))
    try:
        text = json.dumps(site, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        refuse("A text in this file holds half of a character (a lone surrogate). Retype it.")
    try:
        return Site.model_validate_json(text, strict=True)
    except ValidationError as error:
        if error.error_count() > HOPELESS:
            refuse(f"More than {HOPELESS:,} fields of this file are wrong. Is it a site at all?")
        raise SiteFileError(_few(problems_in(error))) from error


def write_site_file(site: Site) -> bytes:
    """The site file of a site: indented UTF-8 JSON with every field written out.

    Raises
    ------
    SiteFileError   When the file would be too large to be read back.
    """
    document = {
        "format": FORMAT,
        "version": VERSION,
        "caution": str(PLANNING_AID),
        "site": site.model_dump(mode="json"),
    }
    data = json.dumps(document, ensure_ascii=False, indent=2).encode() + b"\n"
    if len(data) > MAX_BYTES:
        refuse(f"This site makes a file larger than {MAX_BYTES / 1e6:g} MB. Shorten its notes.")
    return data


def site_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of a site file of the current version."""
    site = Site.model_json_schema(mode="validation")
    parts = site.pop("$defs")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Threebus site file",
        "description": NOT_IN_SCHEMA,
        **envelope_schema("#/$defs/Site"),
        "$defs": {"Site": site, **parts},
    }


def envelope_schema(site_ref: str) -> dict[str, Any]:
    """JSON Schema of the outer object, with the site's schema kept at ``site_ref``."""
    return {
        "type": "object",
        "properties": {
            "format": {"const": FORMAT},
            "version": {"const": VERSION},
            "caution": {"type": "string"},
            "site": {"$ref": site_ref},
        },
        "required": list(_ENVELOPE),
        "additionalProperties": False,
    }


def _opened(document: Any) -> tuple[dict[str, Any], int]:
    """The site object and its version, out of the outer object."""
    if not isinstance(document, dict):
        refuse('A site file is one group: {"format": …, "version": …, "site": {…}}.')
    if document.get("format") != FORMAT:
        hint = (
            f' Put it inside {{"format": "{FORMAT}", "version": {VERSION}, "site": …}}.'
            if "panels" in document or "circuits" in document
            else ""
        )
        refuse(f'This is not a Threebus site file: its "format" is not "{FORMAT}".{hint}', "format")
    unknown = [name for name in document if name not in (*_ENVELOPE, *_UNREAD)]
    if unknown:
        name = shortened(unknown[0])
        refuse("This field is not known here. Check its spelling or remove it.", name)
    if not isinstance(document.get("caution", ""), str):
        refuse("Write the caution as text, or leave it out.", "caution")
    version = document.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 0:
        refuse(f"Write the version as a whole number; the newest is {VERSION}.", "version")
    site = document.get("site")
    if not isinstance(site, dict):
        refuse("The site itself is needed here, as a group of named fields.", "site")
    return site, version


def _few(problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    """At most ``MAX_PROBLEMS`` of them, each short enough to show, and how many more there are."""
    shown = tuple(
        Problem(shortened(p.field, 120), shortened(p.message, 400)) for p in problems[:MAX_PROBLEMS]
    )
    more = len(problems) - len(shown)
    return (*shown, Problem("", f"And {more} more like these.")) if more else shown
