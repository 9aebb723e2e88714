"""Rendering: one Jinja environment, one page context, full pages and fragments.

A route builds a :class:`Page` and calls :func:`render` with a template and what it shows. After
an edit it returns :func:`redirect`, whose ``said`` sentence the next page shows in its status
region. A fragment (a template whose name begins with an underscore) is rendered the same way;
``oob=True`` with ``_status.html`` or ``_undo.html`` sends those regions along.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from hashlib import sha256
from typing import Any, Literal
from urllib.parse import quote, urlencode

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

import server
from server.domain.cautions import CAUTIONS, Caution
from server.domain.errors import ThreebusError
from server.domain.glossary import WORDS
from server.domain.scenario import Scenario
from server.paths import STATIC, TEMPLATES
from server.store.cards import StoredSite
from server.web.figures import FILTERS
from server.web.joined import scripts, styles
from server.web.labels import name_as_labelled
from server.web.said import said_for, token_for

Theme = Literal["system", "light", "dark"]
THEMES: tuple[Theme, ...] = ("system", "light", "dark")
Sheet = Literal[
    "overview", "circuits", "buses", "scenarios", "demand", "wiring", "findings", "survey"
]
SHEETS: dict[Sheet, str] = {
    "overview": "Overview",
    "circuits": "Circuits",
    "buses": "Buses",
    "scenarios": "Scenarios",
    "demand": "Demand load",
    "wiring": "Wiring",
    "findings": "Findings",
    "survey": "Survey",
}
THEME_COOKIE = "threebus-theme"
SAID_COOKIE = "threebus-said"
DAY_COOKIE = "threebus-day"
"""The scenario last looked at on a site, for the links of pages that have none of their own."""


@dataclass(frozen=True)
class SheetLink:
    """One entry of the sheet list in the head and at the foot."""

    number: int
    name: str
    href: str
    current: bool


@dataclass(frozen=True)
class Page:
    """What every page needs from its route.

    ``title`` says where the reader is, without the site's name. ``back`` is where undo, redo and
    the choice of paper return to. ``said`` is what just changed, for the status region.
    ``scenario`` is the scenario the figures of this page belong to, ``last_day`` the id of the one
    last looked at.
    """

    title: str
    theme: Theme
    back: str
    sheet: Sheet | None = None
    stored: StoredSite | None = None
    scenario: Scenario | None = None
    cautions: tuple[Caution, ...] = ()
    said: str = ""
    last_day: str = ""

    @property
    def head_title(self) -> str:
        """The title of the window."""
        site = f"{self.stored.site.name}, " if self.stored else ""
        return f"{self.title}. {site}Threebus"

    @property
    def sheet_name(self) -> str:
        """Number and name of the sheet, for the title block."""
        if self.sheet is None:
            return self.title
        number = list(SHEETS).index(self.sheet) + 1
        name = SHEETS[self.sheet]
        return f"{number} {name}" if self.title == name else f"{number} {name}, {self.title}"

    @property
    def sheets(self) -> tuple[SheetLink, ...]:
        """Links to the sheets of this site, keeping the chosen scenario."""
        if self.stored is None:
            return ()
        root = f"/sites/{self.stored.id}"
        day = self.scenario.id if self.scenario else self.last_day
        chosen = f"?{urlencode({'scenario': day})}" if day else ""
        hrefs: dict[Sheet, str] = {
            "overview": f"{root}{chosen}",
            "circuits": f"{root}/circuits",
            "buses": f"{root}/buses{chosen}",
            "scenarios": f"{root}/scenarios",
            "demand": f"{root}/demand",
            "wiring": f"{root}/wiring",
            "findings": f"{root}/findings",
            "survey": f"{root}/survey",
        }
        return tuple(
            SheetLink(number, SHEETS[sheet], hrefs[sheet], sheet == self.sheet)
            for number, sheet in enumerate(SHEETS, start=1)
        )


def theme_of(request: Request) -> Theme:
    """The paper chosen on this device."""
    chosen = request.cookies.get(THEME_COOKIE, "")
    return next((theme for theme in THEMES if theme == chosen), "system")


def page_for(
    request: Request,
    title: str,
    *,
    sheet: Sheet | None = None,
    stored: StoredSite | None = None,
    scenario: Scenario | None = None,
    caution_keys: tuple[str, ...] = ("planning-aid",),
    back: str | None = None,
    said: str | None = None,
) -> Page:
    """The page context of this request.

    ``back`` is the page's own address unless given; give it where the address answers to POST
    alone, or may stop existing after an undo.
    """
    own = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return Page(
        title=title,
        theme=theme_of(request),
        back=back if back is not None else own,
        sheet=sheet,
        stored=stored,
        scenario=scenario,
        cautions=tuple(CAUTIONS[key] for key in dict.fromkeys(caution_keys)),
        said=said if said is not None else said_for(request.cookies.get(SAID_COOKIE, "")),
        last_day=last_day_of(request, stored),
    )


def last_day_of(request: Request, stored: StoredSite | None) -> str:
    """The id of the scenario last looked at, where this site still has it."""
    kept = request.cookies.get(DAY_COOKIE, "")
    known = stored is not None and any(s.id == kept for s in stored.site.scenarios)
    return kept if known else ""


def is_partial(request: Request) -> bool:
    """Whether htmx asked for a fragment, not for the whole page."""
    return (
        request.headers.get("HX-Request") == "true"
        and request.headers.get("HX-Request-Type", "partial") == "partial"
    )


@lru_cache(maxsize=256)
def _digest(path: str) -> str:
    return sha256((STATIC / path).read_bytes()).hexdigest()[:10]


def static(path: str) -> str:
    """The address of a file under static, changing whenever the file does."""
    return f"/static/{path}?v={_digest(path)}"


def face(name: str) -> Markup:
    """The word to fetch a type face at once: one that comes late lays the whole page out anew."""
    return Markup('<link rel="preload" href="{}" as="font" type="font/woff2" crossorigin>').format(
        static(f"fonts/ysabeau-office-{name}.woff2")
    )


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The one Jinja environment: escaping on, a missing name is an error."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(FILTERS)
    made.globals.update(static=static, styles=styles, scripts=scripts, face=face)
    made.globals.update(version=server.__version__, caution=CAUTIONS, glossary=WORDS)
    return made


def render_text(page: Page, template: str, **context: Any) -> str:
    """A template as text, for routes that join several fragments."""
    return environment().get_template(template).render({"page": page, "oob": False} | context)


def render(
    page: Page,
    template: str,
    *,
    status_code: int = 200,
    headers: dict[str, str] | None = None,
    **context: Any,
) -> HTMLResponse:
    """A template as a response that no cache keeps; a said sentence is shown only once."""
    kept = {"Cache-Control": "no-store", "Vary": "HX-Request"}
    text = render_text(page, template, **context)
    response = HTMLResponse(
        name_as_labelled(text) if status_code >= 400 else text,
        status_code=status_code,
        headers=kept | (headers or {}),
    )
    if page.said:
        response.delete_cookie(SAID_COOKIE)
    if page.stored and page.scenario and page.scenario.id != page.last_day:
        response.set_cookie(
            DAY_COOKIE,
            page.scenario.id,
            path=f"/sites/{page.stored.id}",
            httponly=True,
            samesite="lax",
        )
    return response


def local_path(path: str, fallback: str = "/sites") -> str:
    """The path if it stays on this server, else the fallback.

    >>> local_path("/sites/a?b=1"), local_path("//elsewhere"), local_path("http://elsewhere")
    ('/sites/a?b=1', '/sites', '/sites')
    """
    inside = path.startswith("/") and not path.startswith(("//", "/\\"))
    return path if inside and path.isprintable() else fallback


def redirect(request: Request, path: str, *, said: str = "") -> Response:
    """Send the reader on after an edit, with a sentence for the next page's status region."""
    target = quote(local_path(path), safe="/?=&%#+,:;@!$'()*~")
    if request.headers.get("HX-Request") == "true":
        response = Response(status_code=200, headers={"HX-Redirect": target})
    else:
        response = Response(status_code=303, headers={"Location": target})
    if said:
        response.set_cookie(
            SAID_COOKIE, token_for(said), max_age=60, httponly=True, samesite="strict"
        )
    return response


def error_page(
    request: Request,
    status: int,
    title: str,
    text: str,
) -> HTMLResponse:
    """A plain page for what went wrong: what it was and where to go from here."""
    way_on, way_on_words = "/sites", "To the list of sites"
    match request.url.path.split("/"):
        case ["", "sites", site_id, *_]:
            with suppress(ThreebusError):
                name = request.app.state.store.get(site_id).site.name
                way_on, way_on_words = f"/sites/{site_id}", f"To {name}"
    page = page_for(request, title, back=local_path(way_on), said="")
    return render(
        page, "error.html", status_code=status, text=text, way_on=way_on, way_on_words=way_on_words
    )
