/* Before a move is made: what it would do, shown beside it and as dashed bars on the board.
   Drag, the places of an open mover and the arrow keys all ask the same address. */
"use strict";

const previewed = { key: "", timer: 0, asked: null, kept: [] };

const boardNow = () => document.getElementById("board");
const statusNow = () => document.getElementById("status");

function say(text) {
  const status = statusNow();
  if (status && text) status.textContent = text;
}

function unghost() {
  for (const [ghost, saved] of previewed.kept) ghost.replaceWith(saved);
  previewed.kept = [];
}

function ghost(panel) {
  unghost();
  const bars = new Map();
  for (const bar of panel.querySelectorAll("[data-limit]")) bars.set(bar.dataset.limit, bar);
  for (const saved of boardNow().querySelectorAll(".lims [data-limit]")) {
    const next = panel.contains(saved) ? null : bars.get(saved.dataset.limit);
    if (!next) continue;
    const copy = next.cloneNode(true);
    copy.classList.add("ghosted");
    saved.replaceWith(copy);
    previewed.kept.push([copy, saved]);
  }
}

function forget() {
  clearTimeout(previewed.timer);
  previewed.asked?.abort();
  previewed.key = "";
  unghost();
  const home = document.getElementById("preview");
  if (home) {
    home.hidden = true;
    home.replaceChildren();
  }
}

async function fetchPreview(circuit, to, aloud, place) {
  const board = boardNow();
  const query = new URLSearchParams({
    circuit, to, scenario: board.dataset.scenario, try: board.dataset.try,
  });
  previewed.asked?.abort();
  previewed.asked = new AbortController();
  let text;
  try {
    const answer = await fetch(`${board.dataset.preview}?${query}`, {
      signal: previewed.asked.signal,
      headers: { "HX-Request": "true" },
    });
    if (!answer.ok) return;
    text = await answer.text();
  } catch {
    return; // another place was asked of meanwhile, or the line dropped: nothing was promised
  }
  const fresh = new DOMParser().parseFromString(text, "text/html").getElementById("preview");
  const old = document.getElementById("preview");
  if (!fresh || !old || previewed.key !== `${circuit}>${to}`) return;
  old.remove();
  (place?.isConnected ? place : boardNow()).append(fresh);
  ghost(fresh);
  if (aloud) say(fresh.querySelector(".told")?.textContent.trim());
}

/* Ask a little later, so that passing over places asks for the last alone. */
function preview(circuit, to, { aloud = false, place = null, wait = 120 } = {}) {
  const key = `${circuit}>${to}`;
  if (previewed.key === key) return;
  clearTimeout(previewed.timer);
  previewed.key = key;
  previewed.timer = setTimeout(() => fetchPreview(circuit, to, aloud, place), wait);
}

const placeButton = (element) =>
  element instanceof Element ? element.closest(".moverbody button.go[name=to]") : null;

function previewButton(button, aloud) {
  const row = button.closest(".ckt");
  const body = button.closest(".moverbody");
  preview(row.dataset.circuit, button.value, { aloud, place: body });
}

document.addEventListener("focusin", (event) => {
  const button = placeButton(event.target);
  if (button && !button.disabled) previewButton(button, true);
});
document.addEventListener("pointerover", (event) => {
  const button = placeButton(event.target);
  if (button && !button.disabled && event.pointerType === "mouse") previewButton(button, false);
});
document.addEventListener("change", (event) => {
  const select = event.target;
  if (!(select instanceof HTMLSelectElement) || select.name !== "role") return;
  const row = select.closest(".ckt");
  if (row) preview(row.dataset.circuit, `role:${select.value}`, { aloud: true, place: select.closest(".moverbody") });
});
document.addEventListener("toggle", (event) => {
  if (event.target instanceof Element && event.target.matches("details.mover")) {
    if (!event.target.open) forget();
  }
}, true);

/* Arrow keys go through the places of an open mover. */
document.addEventListener("keydown", (event) => {
  if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
  const mover = event.target instanceof Element ? event.target.closest("details.mover[open]") : null;
  if (!mover || event.target.matches("select, input")) return;
  const places = [...mover.querySelectorAll("button.go[name=to]:not(:disabled)")];
  if (!places.length) return;
  const here = places.indexOf(event.target.closest("button.go"));
  const step = event.key === "ArrowDown" ? 1 : -1;
  const next = here < 0 ? (step > 0 ? 0 : places.length - 1) : here + step;
  event.preventDefault();
  places[(next + places.length) % places.length].focus();
});

document.addEventListener("htmx:after:swap", (event) => {
  const panel = document.getElementById("preview");
  previewed.kept = previewed.kept.filter(([copy]) => copy.isConnected);
  if (event.detail.ctx?.target?.id === "board") {
    previewed.key = "";
    makeDraggable();
  } else if (panel && !panel.hidden) {
    ghost(panel); // bars were swapped while a move is being looked at
  }
});

/* Drag: the row of a circuit onto another panel. A drop presses the button that says the same. */
const dragged = { row: null };

function makeDraggable() {
  for (const row of document.querySelectorAll(".ckt[data-circuit]")) {
    row.draggable = Boolean(row.querySelector("button.go[name=to]"));
  }
}

function buttonTo(row, place) {
  return [...row.querySelectorAll("button.go[name=to]")].find(
    (button) => button.value === place.dataset.to && !button.disabled,
  );
}

/* The panel under the pointer; anywhere in a bus that has only one. */
function placeUnder(event) {
  if (!(event.target instanceof Element)) return null;
  const place = event.target.closest(".place[data-to]");
  if (place) return place;
  const places = event.target.closest(".bus")?.querySelectorAll(".place[data-to]") ?? [];
  return places.length === 1 ? places[0] : null;
}

function clearPlaces() {
  for (const place of document.querySelectorAll(".place.may, .place.over")) {
    place.classList.remove("may", "over");
  }
}

document.addEventListener("dragstart", (event) => {
  const row = event.target instanceof Element ? event.target.closest(".ckt[data-circuit]") : null;
  if (!row || event.target !== row) return;
  dragged.row = row;
  row.classList.add("dragged");
  boardNow().classList.add("dragging");
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", row.dataset.name);
  for (const place of document.querySelectorAll(".place[data-to]")) {
    if (buttonTo(row, place)) place.classList.add("may");
  }
  say(`${row.dataset.name} taken. Drop it on another panel, or press Escape.`);
});

document.addEventListener("dragover", (event) => {
  const place = placeUnder(event);
  const { row } = dragged;
  if (!row) return;
  for (const other of document.querySelectorAll(".place.over")) {
    if (other !== place) other.classList.remove("over");
  }
  if (!place || !buttonTo(row, place)) return;
  event.preventDefault();
  event.dataTransfer.dropEffect = "move";
  if (place.classList.contains("over")) return;
  place.classList.add("over");
  preview(row.dataset.circuit, place.dataset.to, { aloud: true, place: boardNow() });
});

document.addEventListener("drop", (event) => {
  const place = placeUnder(event);
  const { row } = dragged;
  const button = row && place ? buttonTo(row, place) : null;
  if (!button) return;
  event.preventDefault();
  unghost();
  button.form.requestSubmit(button);
});

document.addEventListener("dragend", (event) => {
  if (!dragged.row) return;
  dragged.row.classList.remove("dragged");
  boardNow()?.classList.remove("dragging");
  const { name } = dragged.row.dataset;
  dragged.row = null;
  clearPlaces();
  if (event.dataTransfer.dropEffect === "none") {
    forget();
    say(`${name} stays where it was.`);
  }
});

makeDraggable();
