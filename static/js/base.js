/* What every sheet shares: undo by keyboard, one submission a form, a spoken status. */
"use strict";

const TYPING = "textarea, select, input:not([type=checkbox]):not([type=radio]):not([type=button])";

function isTyping(element) {
  return element instanceof Element && element.matches(TYPING);
}

function submitByKey(name) {
  const form = document.querySelector(`form[data-key="${name}"]`);
  const button = form?.querySelector("button");
  if (!button || button.disabled) return false;
  form.requestSubmit(button);
  return true;
}

document.addEventListener("keydown", (event) => {
  const wanted = event.key.toLowerCase() === "z" && (event.ctrlKey || event.metaKey);
  if (!wanted || event.altKey || isTyping(event.target)) return;
  if (submitByKey(event.shiftKey ? "redo" : "undo")) event.preventDefault();
});

/* A second click while the first is on its way does nothing. */
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method !== "post") return;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "1";
});
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
});

/* Said at the button that was pressed; whatever else a form has to say comes with it. */
function sayNotSent(form, submitter, more = "", then = "Press again once there is a network.") {
  form.querySelector(".notsent")?.remove();
  const notice = document.createElement("p");
  notice.className = "kept notsent";
  notice.setAttribute("role", "alert");
  const said = ["Not saved: nothing answers, so the network may be down.", more];
  notice.textContent = [...said, then].filter(Boolean).join(" ");
  if (submitter && form.contains(submitter)) submitter.before(notice);
  else form.append(notice);
  notice.scrollIntoView({ block: "nearest" });
}

/* A part of a page that was sent to nobody shows what is saved again, and says so. */
document.addEventListener("htmx:error", (event) => {
  const form = event.detail?.ctx?.sourceElement?.closest?.("form");
  if (form?.method !== "post") return;
  delete form.dataset.sent;
  const chosen = [...form.querySelectorAll("select")].map((list) => [list, list.value]);
  form.reset();
  const back = chosen.filter(([list, value]) => list.value !== value).map(([list]) => list);
  const saved = back.map((list) => `\u201c${list.selectedOptions[0].text}\u201d`).join(", ");
  if (saved) {
    sayNotSent(form, null, `Set back to ${saved}, as it is saved.`, "Once there is a network, choose again and press.");
  } else {
    sayNotSent(form, null);
  }
});

/* A live region is read out only when it changes after loading. */
window.addEventListener("load", () => {
  const status = document.getElementById("status");
  const said = status?.textContent;
  if (!said) return;
  status.textContent = "\u00a0";
  requestAnimationFrame(() =>
    requestAnimationFrame(() => {
      status.textContent = said;
    }),
  );
});

/* Take a person who got problems back straight to them. */
document.addEventListener("DOMContentLoaded", () => {
  document.querySelector(".problems[tabindex]")?.focus();
});

/* The first Tab looks through all there is, so what is far down is laid out before it, while
   there is nothing else to do. */
window.addEventListener("load", () => {
  const parts = [...document.querySelectorAll(".far, .ckt")];
  const next = (idle) => {
    do parts.shift()?.firstElementChild?.getBoundingClientRect();
    while (parts.length && idle.timeRemaining() > 10);
    if (parts.length) requestIdleCallback(next);
  };
  window.requestIdleCallback?.(next);
});
