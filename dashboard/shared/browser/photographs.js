// A photograph on its way to the rig: made smaller here first, so that a weak link carries it. The rig makes it smaller
// itself where this browser cannot read the file, turns it upright, and keeps nothing of it but the picture.

import { answerTo } from "./asking.js";

// The longest side of what is sent, as the rig keeps it [pixels].
export const LONGEST_SIDE = 2000;
// A file that is no larger goes as it is.
const SMALL_BYTES = 1_000_000;
const QUALITY = 0.85;

/** @typedef {{ id: string, visit?: string, text?: string, check?: string, part?: string, circuit?: string, unit?: string, want?: string, shot?: string }} About */

// The size at which a picture is sent: never larger than it is.
/**
 * @param {number} width
 * @param {number} height
 */
export function fitted(width, height) {
  const share = Math.min(1, LONGEST_SIDE / Math.max(width, height));
  return { width: Math.max(1, Math.round(share * width)), height: Math.max(1, Math.round(share * height)) };
}

// Where it is sent to: what it is of stands in the address, the file alone is the body.
/** @param {About} about */
export function address(about) {
  const said = Object.entries(about).filter(([, value]) => value);
  return `api/photograph?${new URLSearchParams(said)}`;
}

// The same picture as a smaller JPEG; the file itself where it is small, or this browser cannot read it.
/**
 * @param {Blob} file
 * @returns {Promise<Blob>}
 */
export async function smaller(file) {
  const picture = await read(file);
  if (!picture) return file;
  const size = fitted(picture.width, picture.height);
  if (size.width === picture.width && file.size <= SMALL_BYTES) {
    picture.close();
    return file;
  }
  const canvas = Object.assign(document.createElement("canvas"), size);
  const context = canvas.getContext("2d");
  if (context) {
    context.fillStyle = "white"; // behind what one sees through, since a JPEG has no such thing
    context.fillRect(0, 0, size.width, size.height);
    context.drawImage(picture, 0, 0, size.width, size.height);
  }
  picture.close();
  if (!context) return file;
  const made = await new Promise((/** @type {(blob: Blob | null) => void} */ resolve) => {
    canvas.toBlob(resolve, "image/jpeg", QUALITY);
  });
  return made && made.size < file.size ? made : file;
}

/**
 * @param {Blob} file
 * @returns {Promise<ImageBitmap | null>}
 */
async function read(file) {
  try {
    return await createImageBitmap(file, { imageOrientation: "from-image" });
  } catch (error) {
    console.info("this browser cannot read the picture; it goes to the rig as it is", error);
    return null;
  }
}

// Send a photograph. The same id sent again is the same photograph, and recorded once.
/**
 * @param {Blob} file
 * @param {About} about
 * @returns {Promise<import("./asking.js").Answer>}
 */
export async function sendPhotograph(file, about) {
  const body = await smaller(file);
  return answerTo(fetch(address(about), { method: "POST", body }), "Send the photograph again once it is back.");
}
