/* The minute of the overview by a slider: its time is told at once, the house follows. */
"use strict";

const scrub = document.getElementById("scrub");
const scrubAt = document.getElementById("scrub-at");

/* The same words as the server's: a wall-clock time, never shifted by this computer's zone. */
function timeOfStep(step) {
  const start = new Date(`${scrub.dataset.start}Z`);
  const at = new Date(start.getTime() + step * Number(scrub.dataset.stepS) * 1000);
  const part = (options) => at.toLocaleString("en-US", { timeZone: "UTC", ...options });
  const clock = part({ hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  return `${part({ weekday: "short" })} ${at.getUTCDate()} ${part({ month: "short" })} ${clock}`;
}

if (scrub) {
  scrub.addEventListener("input", () => {
    const words = timeOfStep(Number(scrub.value));
    scrubAt.textContent = words;
    scrub.setAttribute("aria-valuetext", words);
  });
  /* The address names the minute that is drawn, so that it can be sent on. */
  document.addEventListener("htmx:after:swap", () => {
    const house = document.getElementById("house");
    const query = new URLSearchParams(location.search);
    if (!house || query.get("at") === house.dataset.at) return;
    query.set("at", house.dataset.at);
    query.delete("step_at");
    history.replaceState(history.state, "", `${location.pathname}?${query}`);
  });
}
