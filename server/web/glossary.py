"""Help: the words of the trade, the keys, and where to begin."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.domain.glossary import WORD_GROUPS, WORDS
from server.domain.model_notes import CONTROL_NOTES, MODEL_NOTES
from server.web.pages import page_for, render

router = APIRouter()


@router.get("/help")
def help_page(request: Request) -> Response:
    """The glossary, how a plan is made, and the keyboard."""
    cautions = ("planning-aid", "backfeed", "exhaust", "solar", "live-parts")
    page = page_for(request, "Help", caution_keys=cautions)
    return render(page, "help/help.html", groups=WORD_GROUPS, words=WORDS)


@router.get("/help/models")
def models_page(request: Request) -> Response:
    """Every behaviour model and control: formula, figures, source."""
    page = page_for(request, "How loads are reckoned", caution_keys=("planning-aid", "result"))
    return render(page, "help/models.html", models=MODEL_NOTES, controls=CONTROL_NOTES)
