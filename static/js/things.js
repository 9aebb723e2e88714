/* The things of a house by a few letters: what does not fit is hidden, what is ticked stays so. */
"use strict";

const finder = document.getElementById("find-thing");
const thingsFound = document.getElementById("things-found");
const nothingFound = " Nothing of that name: try another word, or tick what is nearest in watts.";
const thingRows = [...document.querySelectorAll(".rooms .thing")];

const sourcesAsked = " Sources and how they are joined were asked before: go back a step for them.";

function thingWords(text) {
  return text.toLowerCase().split(/[^a-z0-9/]+/).filter(Boolean);
}

const sourceWords = thingWords(finder.dataset.sources);

function ofSources(wanted) {
  return wanted.some((part) => sourceWords.some((word) => part.length > 2 && word.startsWith(part)));
}

function showThings() {
  const wanted = thingWords(finder.value);
  const nothing = ofSources(wanted) ? sourcesAsked : nothingFound;
  let shown = 0;
  for (const row of thingRows) {
    const words = thingWords(row.dataset.words);
    const fits = wanted.every((part) => words.some((word) => word.startsWith(part)));
    row.hidden = !fits;
    shown += Number(fits);
  }
  for (const room of document.querySelectorAll(".rooms .room")) {
    room.hidden = !room.querySelector(".thing:not([hidden])");
    const link = document.querySelector(`.jump a[href="#${room.id}"]`);
    if (link) link.hidden = room.hidden;
  }
  document.querySelector(".jump").hidden = !shown;
  const ticked = thingRows.filter((row) => row.querySelector("input:checked")).length;
  thingsFound.textContent = wanted.length
    ? `${shown} of ${thingRows.length} shown; ${ticked} ticked in all.${shown ? "" : nothing}`
    : "";
}

finder.addEventListener("input", showThings);
finder.addEventListener("keydown", (event) => {
  if (event.key === "Enter") {
    event.preventDefault();
    document.querySelector(".rooms .thing:not([hidden]) input[type=checkbox]")?.focus();
  } else if (event.key === "Escape" && finder.value) {
    event.preventDefault();
    finder.value = "";
    showThings();
  }
});
/* A row with something to mend is never hidden: the browser may bring back what was written here. */
finder.value = "";
