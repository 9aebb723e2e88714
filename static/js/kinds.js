/* Kinds of appliance by a few letters: a list under the field, the likeliest chosen first. */
"use strict";

const KINDS_SHOWN = 7;
let kindsRead = null;

function wordsIn(text) {
  return text.toLowerCase().split(/[^a-z0-9/]+/).filter(Boolean);
}

function allKinds() {
  kindsRead ??= [...document.querySelectorAll("#kinds option")].map((option) => ({
    name: option.value,
    own: wordsIn(option.value),
    head: wordsIn(option.value.split(",")[0]),
    words: wordsIn(`${option.value} ${option.dataset.also}`),
    w: option.dataset.w,
    a: option.dataset.a,
    poles: option.dataset.poles,
    cls: option.dataset.class,
  }));
  return kindsRead;
}

/* How far a kind is from the words written: the order of server/domain/kind_search.py. */
function kindDistance(wanted, kind) {
  const written = wanted.join(" ");
  const name = kind.own.join(" ");
  const left = (part) => {
    const begun = kind.words.filter((word) => word.startsWith(part));
    return Math.min(...begun.map((word) => word.length)) - part.length;
  };
  return [
    Number(name !== written),
    -wanted.filter((part) => kind.words.includes(part)).length,
    Number(!name.startsWith(written)),
    kind.head.filter((word) => !wanted.some((part) => word.startsWith(part))).length,
    wanted.reduce((sum, part) => sum + left(part), 0),
  ];
}

function findKinds(text) {
  const wanted = wordsIn(text);
  if (!wanted.length) return [];
  return allKinds()
    .filter((kind) => wanted.every((part) => kind.words.some((word) => word.startsWith(part))))
    .map((kind) => ({ kind, far: kindDistance(wanted, kind) }))
    .sort((a, b) => {
      const at = a.far.findIndex((step, i) => step !== b.far[i]);
      return at < 0 ? 0 : a.far[at] - b.far[at];
    })
    .map((found) => found.kind);
}

const kindList = document.createElement("ul");
kindList.id = "kind-list";
kindList.className = "kindlist";
kindList.setAttribute("role", "listbox");
kindList.setAttribute("aria-label", "Kinds of appliance");
kindList.hidden = true;

function kindListOf(field) {
  return !kindList.hidden && kindList.parentElement === field.parentElement ? kindList : null;
}

function closeKinds(field) {
  kindList.hidden = true;
  field.setAttribute("aria-expanded", "false");
  field.removeAttribute("aria-activedescendant");
}

function markKind(field, place) {
  const options = [...kindList.children];
  const at = (place + options.length) % options.length;
  options.forEach((option, i) => option.setAttribute("aria-selected", String(i === at)));
  field.setAttribute("aria-activedescendant", options[at].id);
  field.dispatchEvent(new CustomEvent("kind:marked", { bubbles: true }));
}

function markedKind(field) {
  const marked = kindListOf(field)?.querySelector("[aria-selected=true]")?.dataset.name;
  return allKinds().find((kind) => kind.name === marked) ?? findKinds(field.value)[0] ?? null;
}

function showKinds(field) {
  const found = findKinds(field.value).slice(0, KINDS_SHOWN);
  if (!found.length) {
    closeKinds(field);
    return;
  }
  kindList.replaceChildren(
    ...found.map((kind, i) => {
      const option = document.createElement("li");
      option.id = `kind-${i}`;
      option.dataset.name = kind.name;
      option.setAttribute("role", "option");
      const figures = document.createElement("small");
      figures.className = "pen";
      figures.textContent = `${kind.w} W, ${kind.a} A`;
      option.append(`${kind.name} `, figures);
      return option;
    }),
  );
  field.parentElement.append(kindList);
  kindList.hidden = false;
  field.setAttribute("aria-expanded", "true");
  markKind(field, 0);
}

/* The marked kind becomes what stands in the field. */
function takeKind(field) {
  if (!kindListOf(field)) return;
  const kind = markedKind(field);
  if (kind) field.value = kind.name;
  closeKinds(field);
}

function isKindField(element) {
  return element instanceof HTMLInputElement && element.name === "feeds" && !element.readOnly;
}

document.addEventListener("focusin", (event) => {
  const field = event.target;
  if (!isKindField(field) || field.getAttribute("role") === "combobox") return;
  field.removeAttribute("list");
  field.setAttribute("role", "combobox");
  field.setAttribute("aria-autocomplete", "list");
  field.setAttribute("aria-expanded", "false");
  field.setAttribute("aria-controls", "kind-list");
  if (!kindList.isConnected) field.parentElement.append(kindList);
});
document.addEventListener("input", (event) => {
  if (isKindField(event.target)) showKinds(event.target);
});
document.addEventListener("focusout", (event) => {
  if (isKindField(event.target)) takeKind(event.target);
});
document.addEventListener("keydown", (event) => {
  const field = event.target;
  if (!isKindField(field) || !kindListOf(field)) return;
  const at = [...kindList.children].findIndex((o) => o.getAttribute("aria-selected") === "true");
  if (event.key === "ArrowDown") markKind(field, at + 1);
  else if (event.key === "ArrowUp") markKind(field, at - 1);
  else if (event.key === "Escape") closeKinds(field);
  else return;
  event.preventDefault();
  event.stopImmediatePropagation();
});
kindList.addEventListener("pointerdown", (event) => {
  event.preventDefault();
  const option = event.target.closest("[role=option]");
  const field = kindList.parentElement.querySelector("input");
  markKind(field, [...kindList.children].indexOf(option));
  takeKind(field);
  field.dispatchEvent(new Event("change", { bubbles: true }));
});
