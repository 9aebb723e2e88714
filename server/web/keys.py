"""The keyboard map: what each key does, by place."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from server.web.pages import is_partial, page_for, render

router = APIRouter()


@dataclass(frozen=True)
class Key:
    """One key or chord, with what it does."""

    keys: tuple[str, ...]
    does: str


@dataclass(frozen=True)
class Place:
    """The keys of one place."""

    name: str
    keys: tuple[Key, ...]


PLACES = (
    Place(
        "Everywhere",
        (
            Key(("?",), "this list, outside a field"),
            Key(("Ctrl", "Z"), "undo the last saved change of this site, outside a field"),
            Key(("Ctrl", "Shift", "Z"), "do it again"),
            Key(("Tab",), "on to the next thing; no page needs a mouse"),
            Key(("Esc",), "close what is open"),
            Key(("Alt", "←"), "back, as anywhere in a browser"),
            Key(("Ctrl", "P"), "print the page as a sheet, with its cautions"),
        ),
    ),
    Place(
        "The table of circuits",
        (
            Key(("N",), "begin the next circuit"),
            Key(("←", "→", "↑", "↓"), "from cell to cell; below the last row is the next circuit"),
            Key(("Enter",), "open the row at this cell; so does any letter or figure"),
            Key(("Home",), "first cell of the row; with Ctrl, the first row"),
            Key(("End",), "last cell of the row; with Ctrl, the last row"),
            Key(("Page Up",), "ten rows up; Page Down goes ten down"),
            Key(("Space",), "choose the row, for one change to many"),
            Key(("Ctrl", "V"), "show how copied rows of a spreadsheet would be read"),
        ),
    ),
    Place(
        "An open row",
        (
            Key(("Enter",), "save it; in a new row, begin the next"),
            Key(("Tab",), "take the marked kind of appliance, and on to the next cell"),
            Key(("↑", "↓"), "mark another kind in the list"),
            Key(("←", "→"), "to the cell beside, from the end of what is written"),
            Key(("Esc",), "leave the row as it was"),
        ),
    ),
    Place(
        "Panel spaces",
        (
            Key(("←", "→", "↑", "↓"), "from breaker to breaker"),
            Key(("Space",), "take the breaker up; the arrows then choose where it goes"),
            Key(("Enter",), "put it there, as Space does; else open the circuit"),
            Key(("Esc",), "leave it where it was"),
        ),
    ),
)


@router.get("/help/keys")
def keys_page(request: Request) -> Response:
    """The keyboard map as a page, or as what its dialog shows."""
    page = page_for(request, "Keys", caution_keys=("planning-aid",))
    template = "help/_keys.html" if is_partial(request) else "help/keys.html"
    return render(page, template, places=PLACES)
