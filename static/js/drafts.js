/* What is typed into a form is kept on this device until it is saved. */
"use strict";

const KEPT_DAYS = 7;
const RESHAPES = ["fill", "model", "rows"]; /* buttons whose answer is the same form, reshaped */
const ON_ITS_WAY = "draft on its way"; /* in this tab, the form that was sent and not answered yet */

function draftKey(form) {
  return `draft ${new URL(form.action, location.href).pathname}`;
}

/* What a field holds, or what it came with: one may type before the script runs. */
function valueIn(field, ticks, served) {
  if (!served) return ticks ? field.checked : field.value;
  if (ticks) return field.defaultChecked;
  if (field.type !== "select-one") return field.defaultValue;
  const options = [...field.options];
  return (options.find((option) => option.defaultSelected) ?? options[0])?.value ?? "";
}

function typedIn(form, served = false) {
  const fields = {};
  for (const field of form.elements) {
    if (!field.name || ["hidden", "file", "submit", "button", "password"].includes(field.type)) continue;
    const ticks = field.type === "checkbox" || field.type === "radio";
    const name = field.type === "radio" ? `${field.name}=${field.value}` : field.name;
    fields[name] = valueIn(field, ticks, served);
  }
  return fields;
}

function fieldOf(form, name) {
  const [plain, value] = name.split(/=(.*)/s);
  const found = form.elements.namedItem(plain);
  const all = found instanceof RadioNodeList ? [...found] : found ? [found] : [];
  const shown = all.filter((field) => field.type !== "hidden");
  return value === undefined ? shown[0] : shown.find((field) => field.value === value);
}

function putBack(form, fields) {
  for (const [name, value] of Object.entries(fields)) {
    const field = fieldOf(form, name);
    if (!field) continue;
    if (typeof value === "boolean") field.checked = value;
    else field.value = value;
  }
}

function read(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null;
  }
}

function write(key, draft) {
  try {
    localStorage.setItem(key, JSON.stringify(draft));
  } catch {
    /* A full or forbidden store keeps nothing; the form still works. */
  }
}

const NAMED = 3; /* fields that are named beside Save */

/* What is back, by the words beside its fields. */
function named(form, fields, before) {
  const changed = Object.keys(fields).filter((name) => fieldOf(form, name) && fields[name] !== before[name]);
  const words = [...new Set(changed.map((name) => fieldOf(form, name).labels?.[0]?.textContent.trim() || name))];
  const more = words.length - NAMED;
  const told = more > 0 ? [...words.slice(0, NAMED), `${more} more`] : words;
  return told.join(", ");
}

/* Said above the form, and beside Save as well: a link may land far below its head. */
function offer(form, key, undo, what) {
  const notices = [
    ["What you typed here and did not save is back in the form. ", "Drop it"],
    [`Save also takes what you typed before: ${what}. `, "Leave that out"],
  ].map(([text, command]) => {
    const notice = document.createElement("p");
    notice.className = "kept";
    notice.setAttribute("role", "note");
    const drop = document.createElement("button");
    drop.type = "button";
    drop.className = "btn bare small";
    drop.textContent = command;
    drop.addEventListener("click", () => {
      undo();
      localStorage.removeItem(key);
      notices.forEach((one) => one.remove());
      form.querySelector("input:not([type=hidden]), select, textarea")?.focus();
    });
    notice.append(text, drop);
    return notice;
  });
  const [above, beside] = notices;
  form.prepend(above);
  const row = form.querySelector(".row:has(> .btn.first)");
  if (!row) return;
  beside.classList.add("back");
  if (row.matches(".save")) row.prepend(beside);
  else row.before(beside);
}

function untouched(draft, now) {
  return draft.before !== undefined && JSON.stringify(draft.before) === JSON.stringify(now);
}

function watch(form) {
  const key = draftKey(form);
  const before = typedIn(form, true);
  const draft = read(key);
  const revision = form.elements.namedItem("revision");
  const begun = form.elements.namedItem("begun");
  const current = { revision: revision?.value, begun: begun?.value, fields: before };
  let base = current;
  const begin = (from) => {
    base = from;
    if (revision) revision.value = from.revision;
    if (begun) begun.value = from.begun ?? "";
  };
  /* A refused form shows what was typed; the draft waits for who goes back from it. */
  const answered = form.closest("main").querySelector(".problems") !== null;
  if (draft && Date.now() - draft.at > KEPT_DAYS * 864e5) {
    localStorage.removeItem(key);
  } else if (draft && !answered && JSON.stringify(draft.fields) !== JSON.stringify(before)) {
    putBack(form, draft.fields);
    /* Where the form holds what it held when this was typed, saves elsewhere do not touch it. */
    if (!untouched(draft, before)) begin({ ...draft, fields: draft.before });
    const undo = () => {
      putBack(form, before);
      begin(current);
    };
    offer(form, key, undo, named(form, draft.fields, before));
  }
  const keep = () => {
    const fields = typedIn(form);
    const { revision, begun } = base;
    write(key, { at: Date.now(), revision, begun, before: base.fields, fields });
  };
  form.addEventListener("input", keep);
  /* Who leaves it as it was drops what was typed, also what came back from before. */
  for (const link of form.querySelectorAll("a[data-leave]")) {
    link.addEventListener("click", () => localStorage.removeItem(key));
  }
  let reached = false;
  let asking = false;
  form.addEventListener("submit", async (event) => {
    if (reached) {
      if (RESHAPES.includes(event.submitter?.value)) localStorage.removeItem(key);
      else sessionStorage.setItem(ON_ITS_WAY, key);
      return;
    }
    event.preventDefault();
    if (asking) return;
    asking = true;
    reached = await serverAnswers();
    asking = false;
    if (reached) form.requestSubmit(event.submitter);
    else {
      keep();
      sayNotSent(form, event.submitter, "What you typed stays here and is kept on this device.");
    }
    reached = false;
  });
}

/* A browser that sends a form to nobody leaves the page, and what was typed, for one of its own. */
async function serverAnswers() {
  try {
    await fetch("/static/mark.svg", { method: "HEAD", cache: "no-store" });
    return true;
  } catch {
    return false;
  }
}

/* Forms that one goes through in a row: what waits unsaved in the others is named on each. */
function waiting(box) {
  const found = Object.keys(localStorage)
    .filter((key) => key.startsWith(`draft ${box.dataset.drafts}`))
    .map((key) => ({ path: key.slice("draft ".length), draft: read(key) }))
    .filter(({ path, draft }) => draft?.fields && path !== location.pathname)
    .filter(({ draft }) => Date.now() - draft.at <= KEPT_DAYS * 864e5);
  if (!found.length) return;
  box.append("Typed on this device and not saved yet: ");
  found.forEach(({ path, draft }, at) => {
    const link = document.createElement("a");
    link.href = path;
    link.textContent = draft.fields.name || "a breaker";
    box.append(at ? ", " : "", link);
  });
  box.append(found.length > 1 ? ". Open each and save." : ". Open it and save.");
  box.hidden = false;
}

/* The status of a page tells that the form sent before it was saved; without one it was not. */
function settle() {
  const sent = sessionStorage.getItem(ON_ITS_WAY);
  sessionStorage.removeItem(ON_ITS_WAY);
  if (sent && document.getElementById("status")?.textContent) localStorage.removeItem(sent);
}

/* The store is asked of another process: where nothing waits for it the page is painted first. */
document.addEventListener("DOMContentLoaded", () => {
  const forms = document.querySelectorAll("main form[method=post][data-draft]");
  const boxes = document.querySelectorAll("[data-drafts]");
  if (forms.length || boxes.length) {
    settle();
    forms.forEach(watch);
    boxes.forEach(waiting);
    return;
  }
  let waits = true;
  const later = () => {
    if (waits) settle();
    waits = false;
  };
  requestAnimationFrame(() => setTimeout(later));
  window.addEventListener("pagehide", later);
});
