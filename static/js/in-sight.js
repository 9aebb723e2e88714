/* A field in focus stands clear of what is fixed over the page: browsers scroll by the window alone. */
"use strict";

document.addEventListener("focusin", ({ target }) => {
  if (target.matches(".atpanel :is(input:not([type=radio]), textarea)")) {
    target.scrollIntoView({ block: "nearest" });
  }
});
