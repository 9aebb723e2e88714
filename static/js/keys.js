/* ? shows every key in a dialog, on any page. */
"use strict";

let keysBox = null;

async function showKeys() {
  if (!keysBox) {
    const answer = await fetch("/help/keys", { headers: { "HX-Request": "true", "HX-Request-Type": "partial" } });
    if (!answer.ok) return;
    keysBox = document.createElement("dialog");
    keysBox.className = "keysbox";
    keysBox.setAttribute("aria-label", "Keys");
    const close = document.createElement("button");
    close.type = "button";
    close.className = "btn small";
    close.textContent = "Close";
    close.addEventListener("click", () => keysBox.close());
    keysBox.innerHTML = await answer.text();
    keysBox.append(close);
    document.body.append(keysBox);
  }
  if (!keysBox.open) keysBox.showModal();
}

document.addEventListener("keydown", (event) => {
  if (event.key !== "?" || event.ctrlKey || event.metaKey || event.altKey || isTyping(event.target)) return;
  event.preventDefault();
  showKeys().catch(() => location.assign("/help/keys"));
});
