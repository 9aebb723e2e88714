/* Open rows of the table of circuits: Enter saves one and begins the next, one request each. */
"use strict";

const ROW_TEXTS = ["name", "feeds", "load_w", "space", "breaker_a", "poles", "note"];
const rowQueue = [];
let rowsGoing = false;
let rowNumber = 0;

function newStrip() {
  return document.querySelector('form[data-strip="new"], form[data-strip="again"]');
}

function stripOf(element) {
  return element instanceof Element ? element.closest("form[data-strip]") : null;
}

function isNext(form) {
  return form === newStrip();
}

function hasText(form) {
  return ROW_TEXTS.some((name) => form.elements[name].value.trim());
}

function valuesOf(form) {
  return Object.fromEntries(new FormData(form));
}

function fieldsOf(form) {
  return [...form.querySelectorAll("input:not([type=hidden]), select, button")];
}

function goTo(field) {
  field.focus();
  if (field instanceof HTMLInputElement) field.select();
}

/* The first free place of a panel for so many poles, leaving out what is on its way. */
function freePlace(chosen, poles) {
  const free = new Set((chosen?.dataset.free ?? "").split(" ").filter(Boolean).map(Number));
  for (const item of rowQueue) {
    if (item.panel === chosen?.value) for (const space of item.spaces) free.delete(space);
  }
  const fits = (space) => free.has(space) && (poles === 1 || free.has(space + 2));
  const space = [...free].sort((a, b) => a - b).find(fits);
  if (space === undefined) return [];
  return poles === 1 ? [space] : [space, space + 2];
}

function polesOf(form) {
  return Number(form.elements.poles.value || form.elements.poles.placeholder) === 2 ? 2 : 1;
}

/* What will be taken where nothing is written stands in pencil in the fields. */
function showUsual(form) {
  if (!form.elements.load_class.querySelector('option[value=""]')) return;
  const field = form.elements.feeds;
  const kind = field.value.trim() ? markedKind(field) : null;
  form.elements.name.placeholder = kind?.name ?? "name";
  form.elements.load_w.placeholder = kind?.w ?? "";
  form.elements.breaker_a.placeholder = kind?.a ?? "20";
  form.elements.poles.placeholder = kind?.poles ?? "1";
  form.elements.load_class.querySelector('option[value=""]').textContent = kind?.cls ?? "usual";
  form.elements.space.placeholder = placeFor(form).join(", ") || "full";
}

/* Where the row goes: its panel, or the first with room while nobody chose a panel or a space. */
function placeFor(form) {
  const panel = form.elements.panel_id;
  const poles = polesOf(form);
  const here = freePlace(panel.selectedOptions[0], poles);
  if (here.length || form.dataset.panelChosen || form.elements.space.value) return here;
  const roomy = [...panel.options].find((option) => freePlace(option, poles).length);
  if (!roomy) return here;
  panel.value = roomy.value;
  return freePlace(roomy, poles);
}

function takeProblemsAway(strip) {
  for (const gone of strip.querySelectorAll(".problem, .problems")) gone.remove();
  for (const cell of strip.querySelectorAll(".wrong")) cell.classList.remove("wrong");
  for (const field of strip.querySelectorAll("[aria-invalid]")) {
    field.removeAttribute("aria-invalid");
    field.removeAttribute("aria-describedby");
  }
}

/* A copy of the row for the next circuit, with fields of its own. */
function copyStrip(key, action, values) {
  const strip = newStrip().closest("tr").cloneNode(true);
  const old = newStrip().dataset.strip;
  strip.id = `row-${key}`;
  for (const field of strip.querySelectorAll("[id]")) {
    field.id = field.id.replace(`f-${old}-`, `f-${key}-`);
  }
  for (const label of strip.querySelectorAll("label")) {
    label.htmlFor = label.htmlFor.replace(`f-${old}-`, `f-${key}-`);
  }
  strip.querySelector(".kindlist")?.remove();
  takeProblemsAway(strip);
  const form = strip.querySelector("form");
  form.dataset.strip = key;
  form.action = action;
  delete form.dataset.sent;
  for (const [name, value] of Object.entries(values)) {
    if (form.elements[name] && name !== "revision") form.elements[name].value = value;
  }
  return strip;
}

function clearNext(form) {
  takeProblemsAway(form.closest("tr"));
  for (const name of ROW_TEXTS) form.elements[name].value = "";
  form.elements.wire_size.value = "";
  form.elements.load_class.value = "";
  form.elements.outage_role.value = "on";
  delete form.dataset.panelChosen;
  showUsual(form);
}

function rowBeingSaved(values) {
  const row = document.createElement("tr");
  row.className = "saving";
  const cell = row.insertCell();
  cell.colSpan = 11;
  cell.textContent = `Saving ${values.name || values.feeds || "a circuit"} …`;
  newStrip().closest("tr").before(row);
  return row;
}

function saveStrip(form) {
  takeKind(form.elements.feeds);
  showUsual(form);
  const fresh = isNext(form);
  if (fresh && !hasText(form)) return;
  const values = valuesOf(form);
  const item = { action: form.action, values, spaces: [], panel: "", where: null, form: null };
  if (fresh) {
    item.panel = values.panel_id;
    item.spaces = values.space ? [] : placeFor(form);
    item.values.key = `again-${++rowNumber}`;
    item.where = rowBeingSaved(values);
  } else {
    item.values.key = form.dataset.strip;
    item.where = form.closest("tr");
    item.form = form;
    form.setAttribute("aria-busy", "true");
  }
  rowQueue.push(item);
  if (fresh) {
    form.dataset.strip = "new";
    clearNext(form);
    goTo(form.elements.name);
  }
  sendRows();
}

async function sendRows() {
  if (rowsGoing) return;
  rowsGoing = true;
  while (rowQueue.length) {
    const item = rowQueue[0];
    await sendRow(item);
    rowQueue.shift();
  }
  rowsGoing = false;
  if (newStrip()) showUsual(newStrip());
}

async function sendRow(item) {
  item.values.revision = document.querySelector("#undo input[name=revision]").value;
  try {
    const answer = await fetch(item.action, {
      method: "POST",
      headers: { Accept: "application/json" },
      body: new URLSearchParams(item.values),
    });
    const type = answer.headers.get("content-type") ?? "";
    if (!type.includes("json")) throw new Error(`answered ${answer.status}`);
    const parts = await answer.json();
    if (parts.strip) takeRefused(item, parts);
    else takeSaved(item, parts);
  } catch {
    takeUnsent(item);
  }
}

function trFrom(text) {
  const template = document.createElement("template");
  template.innerHTML = text.trim();
  return template.content.firstElementChild;
}

/* A row that was refused, or never arrived, stays open above the next one until it is mended. */
function keepOpen(item, strip) {
  item.where.replaceWith(strip);
  const next = newStrip();
  const elsewhere = document.activeElement;
  const free = elsewhere === document.body || stripOf(elsewhere) === item.form;
  if (free || (next.contains(elsewhere) && !hasText(next))) {
    goTo(strip.querySelector("[aria-invalid]") ?? strip.querySelector("form").elements.name);
  }
  const first = strip.querySelector(".problem, .problems")?.textContent.trim() ?? "";
  tellStatus(`Not saved: ${item.values.name || "the row"}. ${first}`);
}

function takeRefused(item, parts) {
  const strip = trFrom(parts.strip);
  keepOpen(item, strip);
}

function takeUnsent(item) {
  const strip = item.form ? item.where : copyStrip(item.values.key, item.action, item.values);
  takeProblemsAway(strip);
  const told = document.createElement("div");
  told.className = "problems";
  told.setAttribute("role", "alert");
  told.textContent = "The planner did not answer, so this row is not saved. Nothing is lost: press Enter in it to send it again.";
  strip.firstElementChild.prepend(told);
  item.form?.removeAttribute("aria-busy");
  if (item.where !== strip) keepOpen(item, strip);
}

function setRevision(revision) {
  for (const field of document.querySelectorAll("input[name=revision]")) field.value = revision;
}

function tellStatus(text) {
  document.getElementById("status").textContent = text;
}

function takeSaved(item, parts) {
  const column = item.form?.dataset.column;
  const focused = item.form && stripOf(document.activeElement) === item.form;
  const below = item.form ? rowAfter(item.where) : null;
  for (const [id, text] of Object.entries(parts.rows)) putRow(trFrom(text), item, id);
  item.where.remove();
  for (const [id, text] of Object.entries(parts.heads)) {
    putHead(document.getElementById(`head-${id}`), trFrom(text));
  }
  for (const select of document.querySelectorAll("form[data-strip] select[name=panel_id]")) {
    for (const option of select.options) option.dataset.free = parts.free[option.value].join(" ");
  }
  document.getElementById("undo").outerHTML = parts.undo;
  document.getElementById("counted").textContent = parts.counted;
  document.getElementById("saved-at").textContent = parts.saved_at;
  document.getElementById("saved-revision").outerHTML = parts.saved_revision;
  setRevision(parts.revision);
  tellStatus(parts.said);
  const next = newStrip();
  if (!item.form && !hasText(next) && rowQueue.length < 2) {
    next.elements.panel_id.value = parts.next.panel_id;
  }
  showUsual(next);
  if (focused && column) goToCell(below ?? document.getElementById(`c-${parts.circuit}`), column);
  else if (focused) goTo(next.elements.name);
}

function rowAfter(strip) {
  let row = strip.nextElementSibling;
  while (row && !row.id.startsWith("c-")) row = row.nextElementSibling;
  return row;
}

/* A panel stays folded or open as it was left; a filtered table has no folds. */
function putHead(before, head) {
  const was = before?.querySelector(".foldknob");
  const fold = head.querySelector(".foldknob");
  if (was) fold?.replaceWith(was);
  else fold?.remove();
  before?.replaceWith(head);
}

/* A saved row takes its place by space in its panel, or stays where it stood in another order. */
function putRow(row, item, id) {
  const present = document.getElementById(`c-${id}`);
  const table = document.querySelector("table[data-grid]");
  row.querySelector("input[name=pick]").checked = Boolean(present?.querySelector("input[name=pick]")?.checked);
  if (table.dataset.order !== "space") {
    if (present) present.replaceWith(row);
    else document.querySelector("table[data-grid] tbody").append(row);
    table.querySelector("tr.none")?.remove();
    return;
  }
  present?.remove();
  const body = document.getElementById(`in-${row.dataset.panel}`);
  body.querySelector("tr.none")?.remove();
  const place = (r) => {
    const space = JSON.parse(r.dataset.row).space;
    return parseInt(space, 10) + (space.endsWith("b") ? 0.5 : 0);
  };
  const later = [...body.querySelectorAll('tr[id^="c-"]')].find((r) => place(r) > place(row));
  if (later) later.before(row);
  else body.append(row);
}

document.addEventListener("submit", (event) => {
  const form = stripOf(event.target);
  if (!form || event.submitter?.name === "act") return;
  event.preventDefault();
  event.stopImmediatePropagation();
  saveStrip(form);
}, true);

document.addEventListener("input", (event) => {
  const form = stripOf(event.target);
  if (form) showUsual(form);
});
for (const kind of ["change", "kind:marked"]) {
  document.addEventListener(kind, (event) => {
    const form = stripOf(event.target);
    if (!form) return;
    if (event.target.name === "panel_id") form.dataset.panelChosen = "1";
    showUsual(form);
  });
}

function besideField(form, field, step) {
  const fields = fieldsOf(form);
  return fields[fields.indexOf(field) + step];
}

function atEdge(field, forward) {
  if (!(field instanceof HTMLInputElement)) return true;
  const whole = field.selectionStart === 0 && field.selectionEnd === field.value.length;
  if (whole) return true;
  return field.selectionStart === field.selectionEnd && field.selectionStart === (forward ? field.value.length : 0);
}

document.addEventListener("keydown", (event) => {
  const field = event.target;
  const form = stripOf(field);
  if (!form || event.altKey || event.ctrlKey || event.metaKey || event.isComposing) {
    const untouched = form && isNext(form) && !hasText(form);
    const undoes = event.key.toLowerCase() === "z" && (event.ctrlKey || event.metaKey);
    if (untouched && undoes && submitByKey(event.shiftKey ? "redo" : "undo")) event.preventDefault();
    return;
  }
  if (event.key === "Enter" && field.tagName !== "BUTTON") saveStrip(form);
  else if (event.key === "Escape") leaveStrip(form);
  else if (event.key === "ArrowLeft" || event.key === "ArrowRight") {
    const forward = event.key === "ArrowRight";
    const beside = besideField(form, field, forward ? 1 : -1);
    if (event.shiftKey || !beside || !atEdge(field, forward)) return;
    goTo(beside);
  } else if (event.key === "ArrowUp" && field.tagName === "INPUT" && isNext(form)) {
    goToCell(lastRow(), field.name);
  } else return;
  event.preventDefault();
});

window.addEventListener("beforeunload", (event) => {
  const open = [...document.querySelectorAll("form[data-strip]")].filter((f) => !isNext(f));
  if (rowQueue.length || open.length) event.preventDefault();
});
document.addEventListener("DOMContentLoaded", () => {
  if (newStrip()) showUsual(newStrip());
});
