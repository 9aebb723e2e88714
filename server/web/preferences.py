"""The first address, and what is kept on this device: the choice of paper, the notes put away."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from server.web.deps import FormDep
from server.web.forms import typed
from server.web.pages import THEME_COOKIE, THEMES, redirect

router = APIRouter()

YEAR_S = 365 * 24 * 3600
SOLAR_READ_COOKIE = "threebus-solar-read"


def solar_note_wanted(request: Request) -> bool:
    """Whether the note on why solar goes dark was not put away on this device."""
    return SOLAR_READ_COOKIE not in request.cookies


@router.get("/")
def first_page() -> Response:
    """The list of sites is where everything begins."""
    return RedirectResponse("/sites", status_code=303)


@router.post("/theme")
def choose_theme(request: Request, data: FormDep) -> Response:
    """Keep the choice of light or dark paper in a cookie, and go back."""
    values = typed(data)
    response = redirect(request, values.get("back", "/sites"))
    if (theme := values.get("theme")) in THEMES and theme is not None:
        response.set_cookie(THEME_COOKIE, theme, max_age=YEAR_S, httponly=True, samesite="lax")
    return response


@router.post("/notes/solar/read")
def put_solar_note_away(request: Request) -> Response:
    """Put the note on why solar goes dark away; it stays in Help."""
    said = "Put away. Why solar goes dark with the grid stays in Help."
    response = redirect(request, "/sites", said=said)
    response.set_cookie(SOLAR_READ_COOKIE, "1", max_age=YEAR_S, httponly=True, samesite="lax")
    return response
