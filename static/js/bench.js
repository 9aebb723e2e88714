/* The bench while one types: what is wrong stands beside its field, not only in the list. */
"use strict";

function unmark() {
  for (const note of document.querySelectorAll(".benchform .problem")) {
    const field = document.getElementById(`f-${note.id.slice(2)}`);
    field?.removeAttribute("aria-invalid");
    field?.closest(".entry").classList.remove("wrong");
    const others = (field?.getAttribute("aria-describedby") ?? "").split(" ");
    const kept = others.filter((id) => id && id !== note.id);
    if (kept.length) field?.setAttribute("aria-describedby", kept.join(" "));
    else field?.removeAttribute("aria-describedby");
    note.remove();
  }
}

function mark(name, message) {
  const field = document.getElementById(`f-${name}`);
  if (!field) return;
  const note = document.createElement("p");
  note.className = "problem";
  note.id = `p-${name}`;
  note.textContent = message;
  field.closest(".field").after(note);
  field.closest(".entry").classList.add("wrong");
  field.setAttribute("aria-invalid", "true");
  const hint = field.getAttribute("aria-describedby");
  field.setAttribute("aria-describedby", hint ? `${note.id} ${hint}` : note.id);
  for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) {
    fold.open = true;
  }
}

document.addEventListener("htmx:after:swap", () => {
  const answer = document.getElementById("bench");
  if (!answer) return;
  unmark();
  for (const line of answer.querySelectorAll("li[data-field]")) {
    mark(line.dataset.field, line.querySelector("span").textContent);
  }
});
