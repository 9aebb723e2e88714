/* The board with script: one open mover at a time, Escape closes it, focus returns after a change. */
"use strict";

function moverOf(element) {
  return element instanceof Element ? element.closest("details.mover") : null;
}

document.addEventListener("toggle", (event) => {
  const mover = moverOf(event.target);
  if (!mover || mover !== event.target || !mover.open) return;
  for (const other of document.querySelectorAll("details.mover[open]")) {
    if (other !== mover) other.open = false;
  }
}, true);

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  const mover = moverOf(event.target);
  if (!mover?.open) return;
  mover.open = false;
  mover.querySelector("summary").focus();
});

/* After a swap the focus goes to the circuit that was changed, or to what refused it. A row that
   stays on its bus stays where it was seen, whatever came in above it. One that goes to the far end
   of another bus takes nobody along: the page stays where it is. */
let lastCircuit = "";
let lookedAtPx = 0;
let seenAt = null;
document.addEventListener("submit", (event) => {
  const circuit = event.target.querySelector?.("input[name=circuit]");
  if (circuit) lastCircuit = circuit.value;
}, true);

function placeOf(row) {
  return row && { bus: row.closest(".kind")?.id, top: row.getBoundingClientRect().top };
}

document.addEventListener("htmx:before:swap", (event) => {
  if (event.detail.ctx?.target?.id !== "board") return;
  lookedAtPx = scrollY;
  seenAt = placeOf(document.getElementById(`c-${lastCircuit}`));
});

document.addEventListener("htmx:after:swap", (event) => {
  if (!lastCircuit || event.detail.ctx?.target?.id !== "board") return;
  const row = document.getElementById(`c-${lastCircuit}`);
  lastCircuit = "";
  const refused = row?.querySelector(".problem[tabindex]");
  (refused ?? row?.querySelector("summary"))?.focus({ preventScroll: true });
  scrollTo({ top: lookedAtPx, behavior: "instant" });
  const now = placeOf(row);
  if (now && seenAt?.bus === now.bus) scrollBy({ top: now.top - seenAt.top, behavior: "instant" });
  refused?.scrollIntoView({ block: "nearest" });
});
