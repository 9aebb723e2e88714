"""Circuits from a spreadsheet: paste or choose a file, see what will be read, then take it in."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import Response

from server.exchange.circuit_block import MOST_CHARS, Block, decoded, read_block, written
from server.store.cards import StoredSite
from server.web import words
from server.web.circuit_table import row_of
from server.web.circuits import circuits_path, sheet_cautions
from server.web.deps import FormDep, StoreDep, StoredSiteDep
from server.web.edits import status_of, try_save
from server.web.format import count
from server.web.forms import Form, typed
from server.web.pages import page_for, redirect, render
from server.web.paste_rows import COLUMN_WORDS, Reading, read_rows

router = APIRouter(prefix="/sites/{site_id}/paste-circuits")
EMPTY = Form({"block": ""})


def paste_page(
    request: Request,
    stored: StoredSite,
    form: Form,
    *,
    block: Block | None = None,
    reading: Reading | None = None,
    said: str | None = None,
) -> Response:
    """The page: the text, and under it how each of its rows is read."""
    page = page_for(
        request,
        "Circuits from a spreadsheet",
        sheet="circuits",
        stored=stored,
        caution_keys=sheet_cautions(stored.site),
        back=f"/sites/{stored.id}/paste-circuits",
        said=said if request.method == "POST" else None,
    )
    return render(
        page,
        "circuits/paste.html",
        status_code=status_of(form),
        form=form,
        block=block,
        reading=reading,
        columns=COLUMN_WORDS,
        row_of=row_of,
        words=words,
    )


@router.get("")
def show_paste(request: Request, stored: StoredSiteDep) -> Response:
    """An empty page to paste into."""
    return paste_page(request, stored, EMPTY)


@router.post("")
def read_pasted(
    request: Request, store: StoreDep, stored: StoredSiteDep, data: FormDep
) -> Response:
    """Show how the text is read; with ``act`` accept, add what can be read in one change."""
    values = typed(data) | {"block": _text(data)}
    first = next((p.id for p in stored.site.panels), "")
    values = {"panel_id": first, "revision": str(stored.revision)} | values
    block = read_block(values["block"], _columns(values))
    if not block.rows:
        missing = "Paste some rows here, or choose a file with some."
        return paste_page(request, stored, Form(values, {"block": missing}), said="")
    reading = read_rows(block, stored.site, values["panel_id"])
    if values.get("act") != "accept" or not reading.good:
        return paste_page(request, stored, Form(values), block=block, reading=reading, said="")
    added = count(len(reading.good), "circuit", "circuits")
    form = try_save(store, stored, values, lambda _: reading.site, label=f"Add {added}")
    if form is not None:
        return paste_page(request, stored, form, block=block, reading=reading, said="")
    said = f"Added {added} in one step. Undo takes them all back."
    if not reading.wrong and not block.left_out:
        return redirect(request, circuits_path(stored), said=said)
    fresh = store.get(stored.id)
    rest = [block.head] if block.head else []
    left = written([*rest, *(row.cells for row in reading.wrong)])
    again = {**values, "block": left, "revision": str(fresh.revision)}
    block = read_block(left, _columns(values))
    said += " What is left could not be read; mend it here."
    reading = read_rows(block, fresh.site, values["panel_id"])
    return paste_page(request, fresh, Form(again), block=block, reading=reading, said=said)


def _text(data: FormData) -> str:
    upload = data.get("file")
    if isinstance(upload, UploadFile) and upload.filename:
        return decoded(upload.file.read(4 * MOST_CHARS)).replace("\x00", "")
    pasted = data.get("block")
    text = pasted if isinstance(pasted, str) else ""
    return text.replace("\x00", "").replace("\r\n", "\n")[:MOST_CHARS]


def _columns(values: dict[str, str]) -> list[str]:
    """What the columns are read as, where that was chosen on the page for this very text."""
    chosen: list[str] = []
    while (name := values.get(f"column.{len(chosen)}")) is not None and len(chosen) < 40:
        chosen.append(name if name in COLUMN_WORDS else "")
    return [] if values.get("act") == "fresh" else chosen
