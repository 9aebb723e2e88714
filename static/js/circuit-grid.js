/* The table of circuits by keyboard: arrows between cells, Enter or a letter opens the row. */
"use strict";

const PAGE_ROWS = 10;
const CELLS = "td.pick, [data-col]";

function gridRows() {
  return [...document.querySelectorAll('table[data-grid] tr[id^="c-"]:not([hidden])')];
}

function lastRow() {
  return gridRows().at(-1);
}

function cellsOf(row) {
  return [...row.querySelectorAll(CELLS)].filter((cell) => cell.offsetParent !== null);
}

function cellAt(element) {
  if (!(element instanceof Element) || stripOf(element)) return null;
  const cell = element.closest(CELLS);
  return cell?.parentElement.id.startsWith("c-") ? cell : null;
}

/* One cell of the table can be reached by Tab: the one that was last in use. */
function takeFocus(cell) {
  for (const old of document.querySelectorAll('table[data-grid] [data-stop]')) {
    old.tabIndex = -1;
    delete old.dataset.stop;
  }
  const target = cell.matches(".pick") ? cell.querySelector("input") : cell;
  target.tabIndex = 0;
  target.dataset.stop = "";
  return target;
}

function goToCell(row, column) {
  if (!row) {
    if (newStrip()) goTo(newStrip().elements.name);
    return;
  }
  const named = column === "panel_id" ? "space" : column;
  const cells = cellsOf(row);
  const cell = cells.find((c) => (c.dataset.col ?? "pick") === named) ?? cells[1];
  const target = takeFocus(cell);
  target.focus();
  target.scrollIntoView({ block: "nearest" });
}

function columnOf(cell) {
  return cell.dataset.col ?? "pick";
}

function moveFrom(cell, key, far) {
  const rows = gridRows();
  const row = cell.parentElement;
  const at = rows.indexOf(row);
  const cells = cellsOf(row);
  const across = cells.indexOf(cell);
  const column = columnOf(cell);
  if (key === "ArrowLeft" && across > 0) goToCell(row, columnOf(cells[across - 1]));
  else if (key === "ArrowRight" && across < cells.length - 1) goToCell(row, columnOf(cells[across + 1]));
  else if (key === "Home") goToCell(far ? rows[0] : row, far ? column : columnOf(cells[0]));
  else if (key === "End") goToCell(far ? rows.at(-1) : row, far ? column : columnOf(cells.at(-1)));
  else if (key === "PageUp") goToCell(rows[Math.max(at - PAGE_ROWS, 0)], column);
  else if (key === "PageDown") goToCell(rows[Math.min(at + PAGE_ROWS, rows.length - 1)], column);
  else if (key === "ArrowUp" && at > 0) goToCell(rows[at - 1], column);
  else if (key === "ArrowDown" && at < rows.length - 1) goToCell(rows[at + 1], column);
  else if (key === "ArrowDown") goTo(newStrip().elements[column === "pick" ? "name" : column]);
  else return false;
  return true;
}

/* What a row held as it was opened, as the server writes it: a field left alone is known by it. */
function begunWith(held) {
  const plain = (text) => text.trim().replace(/\\/g, "\\\\").replace(/\n/g, "\\n");
  return Object.entries(held).map(([name, text]) => `${name}=${plain(text)}`).join("\n");
}

/* The fields of a row, in its place; a letter typed on a cell begins what stands in it. */
function openRow(row, column, letter) {
  const id = row.id.slice(2);
  const action = `${newStrip().getAttribute("action")}/${id}`;
  const held = JSON.parse(row.dataset.row);
  const strip = copyStrip(id, action, held);
  const form = strip.querySelector("form");
  const loads = Number(row.dataset.loads);
  form.elements.feeds.readOnly = loads > 0;
  form.elements.load_w.readOnly = loads > 1;
  form.elements.load_class.querySelector('option[value=""]')?.remove();
  form.elements.load_class.value = held.load_class;
  form.elements.begun.value = begunWith(held);
  form.querySelector("button").textContent = "Save";
  const named = column === "pick" ? "name" : column;
  form.dataset.column = named;
  row.after(strip);
  row.hidden = true;
  const field = form.elements[named];
  goTo(field);
  if (letter === undefined || field.readOnly) return;
  if (field.tagName === "SELECT") {
    const begins = [...field.options].find((o) => o.textContent.toLowerCase().startsWith(letter.toLowerCase()));
    if (begins) field.value = begins.value;
  } else {
    field.value = letter;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
}

function leaveStrip(form) {
  const row = document.getElementById(`c-${form.dataset.strip}`);
  const column = form.dataset.column ?? "name";
  if (isNext(form)) {
    if (lastRow()) goToCell(lastRow(), "name");
    return;
  }
  form.closest("tr").remove();
  if (row) row.hidden = false;
  goToCell(row, column);
}

document.addEventListener("keydown", (event) => {
  const cell = cellAt(event.target);
  if (!cell || event.altKey || event.isComposing) return;
  const far = event.ctrlKey || event.metaKey;
  const onLink = event.target !== cell && !cell.matches(".pick");
  if (/^(Arrow|Home|End|Page)/.test(event.key)) {
    if (moveFrom(cell, event.key, far)) event.preventDefault();
    return;
  }
  if (far || onLink) return;
  const tick = cell.parentElement.querySelector("input[name=pick]");
  if (event.key === " ") {
    if (event.target === tick) return;
    tick.click();
  } else if (event.key === "Enter" || event.key === "F2") {
    openRow(cell.parentElement, columnOf(cell));
  } else if (event.key.length === 1 && event.key !== "?" && !cell.matches(".pick")) {
    openRow(cell.parentElement, columnOf(cell), event.key);
  } else return;
  event.preventDefault();
});

document.addEventListener("pointerdown", (event) => {
  const cell = cellAt(event.target);
  if (!cell || event.target.closest("a, input")) return;
  cell.tabIndex = -1;
  takeFocus(cell);
});
document.addEventListener("dblclick", (event) => {
  const cell = cellAt(event.target);
  if (cell && !event.target.closest("a, input")) openRow(cell.parentElement, columnOf(cell));
});

/* A key for people who are anywhere on the page: n begins the next circuit. */
document.addEventListener("keydown", (event) => {
  if (event.key !== "n" || event.ctrlKey || event.metaKey || event.altKey) return;
  if (isTyping(event.target) || cellAt(event.target) || !newStrip()) return;
  event.preventDefault();
  goTo(newStrip().elements.name);
});

/* A block of cells pasted anywhere in the table is shown as it will be read, before it is added. */
document.addEventListener("paste", (event) => {
  const text = event.clipboardData?.getData("text/plain").replace(/[\r\n]+$/, "") ?? "";
  const form = document.getElementById("pasted");
  const inTable = event.target instanceof Element && event.target.closest("table[data-grid]");
  if (!form || !/[\t\n]/.test(text) || (isTyping(event.target) && !inTable)) return;
  event.preventDefault();
  form.elements.block.value = text;
  form.requestSubmit(form.querySelector("button"));
});

/* The bar of changes to many stands there while something is chosen. */
function ticks() {
  return [...document.querySelectorAll('input[name="pick"]')];
}

function showChosen() {
  const bar = document.getElementById("bulk");
  if (!bar) return;
  const many = ticks().filter((tick) => tick.checked).length;
  bar.hidden = many === 0;
  document.getElementById("chosen").textContent = `${many} chosen`;
  const all = document.querySelector("input[data-all]");
  if (!all) return;
  all.checked = many > 0 && many === ticks().length;
  all.indeterminate = many > 0 && !all.checked;
}

document.addEventListener("change", (event) => {
  if (event.target.matches?.("input[data-all]")) {
    for (const tick of ticks()) tick.checked = event.target.checked;
  } else if (event.target.name !== "pick") return;
  showChosen();
});

function offerAll() {
  const head = document.querySelector("table[data-grid] thead .pick");
  if (!head || head.querySelector("input")) return;
  const all = document.createElement("input");
  all.type = "checkbox";
  all.dataset.all = "";
  all.setAttribute("aria-label", "Choose every circuit shown");
  head.replaceChildren(all);
}

function beginGrid() {
  const table = document.querySelector("table[data-grid]");
  if (!table) return;
  table.setAttribute("role", "grid");
  offerAll();
  showChosen();
  const first = gridRows()[0]?.querySelector('[data-col="name"]');
  if (first && !table.querySelector("[data-stop]")) takeFocus(first);
}
document.addEventListener("DOMContentLoaded", beginGrid);

/* A filter redraws the table; what is typed into its open rows stays. */
let keptEntry = null;
document.addEventListener("htmx:before:swap", () => {
  keptEntry = document.getElementById("entry");
});
document.addEventListener("htmx:after:swap", () => {
  const fresh = document.getElementById("entry");
  if (keptEntry && fresh && fresh !== keptEntry) fresh.replaceWith(keptEntry);
  keptEntry = null;
  beginGrid();
});
