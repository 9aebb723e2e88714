/* A photo is made smaller before it is sent, which also leaves out where it was taken. */
"use strict";

const LONGEST_PX = 1600;
const GOOD_ENOUGH = 0.82;

async function smaller(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const scale = Math.min(1, LONGEST_PX / Math.max(picture.width, picture.height));
  const sheet = document.createElement("canvas");
  sheet.width = Math.max(1, Math.round(picture.width * scale));
  sheet.height = Math.max(1, Math.round(picture.height * scale));
  const pen = sheet.getContext("2d");
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, sheet.width, sheet.height);
  pen.drawImage(picture, 0, 0, sheet.width, sheet.height);
  picture.close();
  const blob = await new Promise((done) => sheet.toBlob(done, "image/jpeg", GOOD_ENOUGH));
  return new File([blob], "photo.jpg", { type: "image/jpeg" });
}

async function chosen(field) {
  const [file] = field.files;
  field.parentElement.querySelector("img")?.remove();
  if (!file) return;
  try {
    const made = await smaller(file);
    if (field.files[0] !== file) return;
    const instead = new DataTransfer();
    instead.items.add(made);
    field.files = instead.files;
    const shown = new Image();
    shown.className = "photonew";
    shown.alt = "The photo you chose";
    shown.src = URL.createObjectURL(made);
    field.parentElement.append(shown);
  } catch {
    /* No picture this browser can read: the server says what is wrong with it. */
  }
}

document.addEventListener("DOMContentLoaded", () => {
  for (const field of document.querySelectorAll("input[data-photo]")) {
    field.addEventListener("change", () => chosen(field));
  }
});
