/* The picture of a run as the plots stand now: as SVG, or drawn onto a canvas and saved as PNG. */
"use strict";

(() => {
  const TWICE = 2;
  const link = document.querySelector("[data-picture=svg]");
  const button = document.querySelector("[data-picture=png]");
  if (!link || !button) return;
  const plain = link.getAttribute("href");
  const status = document.getElementById("status");

  link.addEventListener("click", () => { link.href = plain + location.search; });

  function drawn(text) {
    return new Promise((done, failed) => {
      const image = new Image();
      image.onload = () => done(image);
      image.onerror = failed;
      image.src = URL.createObjectURL(new Blob([text], { type: "image/svg+xml" }));
    });
  }

  async function save() {
    const answer = await fetch(plain + location.search);
    if (!answer.ok) throw new Error(String(answer.status));
    const image = await drawn(await answer.text());
    const canvas = document.createElement("canvas");
    canvas.width = image.naturalWidth * TWICE;
    canvas.height = image.naturalHeight * TWICE;
    const context = canvas.getContext("2d");
    context.scale(TWICE, TWICE);
    context.drawImage(image, 0, 0);
    URL.revokeObjectURL(image.src);
    const blob = await new Promise((done) => { canvas.toBlob(done, "image/png"); });
    const save = document.createElement("a");
    save.href = URL.createObjectURL(blob);
    save.download = `${plain.split("/").at(-2)}.png`;
    save.click();
    setTimeout(() => URL.revokeObjectURL(save.href), 60_000);
  }

  button.addEventListener("click", async () => {
    button.disabled = true;
    try {
      await save();
      status.textContent = "The picture was saved as PNG.";
    } catch {
      status.textContent = "The picture could not be drawn here. The SVG holds the same.";
    }
    button.disabled = false;
  });
})();
