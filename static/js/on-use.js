/* What an element asks of the server is read when it is first used: to read all of a long page
   at once takes longer than to lay it out, and comes before its first paint. */
"use strict";

const ASKS = "[hx-get], [hx-post]";
const AT_ONCE = "[hx-trigger]"; /* waits for something else than a press, a change or a form sent */
const wired = new WeakSet();

function wire(element) {
  if (wired.has(element)) return;
  wired.add(element);
  window.htmx?.process(element);
}

document.addEventListener("htmx:before:process", (event) => {
  const part = event.target;
  if (wired.has(part)) return;
  event.preventDefault();
  if (part.matches(AT_ONCE)) wire(part);
  for (const element of part.querySelectorAll(AT_ONCE)) wire(element);
});

for (const use of ["click", "change", "submit"]) {
  const first = ({ target }) => {
    for (let element = target; element; element = element.parentElement) {
      element = element.closest?.(ASKS);
      if (!element) return;
      wire(element);
    }
  };
  document.addEventListener(use, first, { capture: true });
}
