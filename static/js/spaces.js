/* Breakers moved by drag or by keys; both fill in the form that moves one without script. */
"use strict";

let carried = null;
let target = null;
let byKeys = false;
const tried = { timer: 0, asked: null, kept: [] };

/* Dashed under the saved bars: the legs as the move would leave them. */
function unghost() {
  clearTimeout(tried.timer);
  tried.asked?.abort();
  for (const [ghost, saved] of tried.kept) ghost.replaceWith(saved);
  tried.kept = [];
}

async function ghost(circuit, panel, space, begun) {
  const { preview } = document.getElementById("moveform").dataset;
  tried.asked = new AbortController();
  let text;
  try {
    const query = new URLSearchParams({ circuit, panel_id: panel, space });
    const answer = await fetch(`${preview}?${query}`, { signal: tried.asked.signal });
    if (!answer.ok) return;
    text = await answer.text();
  } catch {
    return; /* another space was asked of meanwhile, or the line dropped: nothing was promised */
  }
  const fresh = new DOMParser().parseFromString(text, "text/html");
  for (const copy of fresh.querySelectorAll("[data-legs]")) {
    const saved = document.querySelector(`.face [data-legs="${copy.dataset.legs}"]`);
    saved.replaceWith(copy);
    tried.kept.push([copy, saved]);
  }
  announce(`${begun} ${fresh.querySelector(".told").textContent.trim()}`);
}

function slots() {
  return [...document.querySelectorAll(".slot[data-space]")];
}

function slotAt(panel, space) {
  return slots().find((slot) => covers(slot, panel, space));
}

function covers(slot, panel, space) {
  if (slot.dataset.panel !== panel) return false;
  const first = Number(slot.dataset.space);
  return first === space || (slot.rowSpan === 2 && first + 2 === space);
}

function upperSpace(slot) {
  return Number(slot.dataset.space);
}

/* Said in a line that keeps its place: nothing may move under what is being dragged. */
function announce(text) {
  document.getElementById("carrying").textContent = text;
}

function standsIn(slot) {
  const names = [...slot.querySelectorAll(".brk")].filter((brk) => brk !== carried);
  return names.map((brk) => brk.querySelector("span").textContent.trim()).join(" and ");
}

function nameOf(brk) {
  return brk.querySelector("span").textContent.trim();
}

function aim(slot) {
  for (const old of document.querySelectorAll(".slot.target")) old.classList.remove("target");
  unghost();
  target = slot;
  if (!slot) return;
  slot.classList.add("target");
  const space = upperSpace(slot);
  const two = carried.dataset.poles === "2";
  const lower = two ? slotAt(slot.dataset.panel, space + 2) : null;
  lower?.classList.add("target");
  const there = [...new Set([slot, ...(lower ? [lower] : [])].map(standsIn).filter(Boolean))];
  const leg = slot.closest("tr").querySelector(".legcol").textContent;
  const where = two ? `Spaces ${space}, ${space + 2}` : `Space ${space}, ${leg}`;
  const begun = `${where}: ${there.length ? `changes places with ${there.join(" and ")}` : "free"}.`;
  announce(begun);
  if (slot.contains(carried)) return;
  const asked = [carried.dataset.circuit, slot.dataset.panel, String(space), begun];
  tried.timer = setTimeout(() => ghost(...asked), 120);
}

function takeUp(brk) {
  carried = brk;
  brk.classList.add("carried");
  announce(`${nameOf(brk)} is taken up. Arrows choose a space, Space or Enter puts it there, Escape leaves it.`);
}

function letGo(text) {
  unghost();
  carried?.classList.remove("carried");
  for (const old of document.querySelectorAll(".slot.target")) old.classList.remove("target");
  carried = null;
  target = null;
  byKeys = false;
  if (text) announce(text);
}

function putDown() {
  if (!carried || !target || target.contains(carried)) {
    letGo("It stays where it was.");
    return;
  }
  byKeys = false;
  const form = document.getElementById("moveform");
  form.elements.circuit.value = carried.dataset.circuit;
  form.elements.panel_id.value = target.dataset.panel;
  form.elements.space.value = String(upperSpace(target));
  form.requestSubmit();
}

/* The slot beside this one: two spaces on is one row down, one space on is the other column. */
function slotBeside(slot, key) {
  const space = upperSpace(slot);
  const down = slot.rowSpan === 2 ? 4 : 2;
  const steps = { ArrowUp: [-2], ArrowDown: [down, 2], ArrowLeft: [-1], ArrowRight: [1] };
  if (key === "ArrowLeft" && space % 2 === 1) return nextPanel(slot, -1);
  if (key === "ArrowRight" && space % 2 === 0) return nextPanel(slot, 1);
  for (const step of steps[key]) {
    const found = slotAt(slot.dataset.panel, space + step);
    if (found && found !== slot) return found;
  }
  return null;
}

function nextPanel(slot, step) {
  const panels = [...new Set(slots().map((s) => s.dataset.panel))];
  const panel = panels[panels.indexOf(slot.dataset.panel) + step];
  return panel === undefined ? null : slots().find((s) => s.dataset.panel === panel);
}

function breakerToward(slot, key) {
  let at = slot;
  for (let i = 0; at && i < 90; i += 1) {
    at = slotBeside(at, key);
    const brk = at?.querySelector(".brk");
    if (brk) return brk;
    if (key === "ArrowLeft" || key === "ArrowRight") {
      const same = slots().filter((s) => s.dataset.panel === at?.dataset.panel && s.querySelector(".brk"));
      return same.find((s) => upperSpace(s) % 2 === upperSpace(at) % 2)?.querySelector(".brk") ?? null;
    }
  }
  return null;
}

document.addEventListener("keydown", (event) => {
  const brk = event.target instanceof Element ? event.target.closest(".brk") : null;
  if (!brk || event.ctrlKey || event.metaKey || event.altKey) return;
  const slot = brk.closest(".slot");
  if (event.key.startsWith("Arrow")) {
    if (carried) aim(slotBeside(target ?? slot, event.key) ?? target);
    else breakerToward(slot, event.key)?.focus();
  } else if (event.key === " " && !carried) {
    if (!brk.dataset.circuit) return;
    takeUp(brk);
    byKeys = true;
  } else if (carried && (event.key === " " || event.key === "Enter")) putDown();
  else if (carried && event.key === "Escape") letGo("It stays where it was.");
  else return;
  event.preventDefault();
});
document.addEventListener("focusout", (event) => {
  if (byKeys && event.target === carried) letGo("It stays where it was.");
});

document.addEventListener("dragstart", (event) => {
  const from = event.target instanceof Element ? event.target : event.target.parentElement;
  const brk = from?.closest(".brk[data-circuit]");
  if (!brk) return;
  takeUp(brk);
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", brk.dataset.circuit);
});
document.addEventListener("dragover", (event) => {
  const over = event.target instanceof Element ? event.target : event.target.parentElement;
  const slot = carried ? over?.closest(".slot[data-space]") : null;
  if (!slot) return;
  event.preventDefault();
  if (slot !== target) aim(slot);
});
document.addEventListener("drop", (event) => {
  if (!carried) return;
  event.preventDefault();
  putDown();
});
document.addEventListener("dragend", () => letGo(""));

document.addEventListener("DOMContentLoaded", () => {
  document.querySelector(".brk[data-moved]")?.focus();
});
