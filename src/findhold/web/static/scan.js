// Codes without a hand: scanners that type, and the camera where the browser lets a page use it.

const FAST_MS = 150;

/**
 * A scanner that types is faster than any hand: what comes so fast and ends with Enter is a code, wherever the cursor
 * stands. A speaking code has several lines, each ended with Enter; its last line begins with ID.
 * @param {(text: string) => void} take
 */
export function wedge(take) {
  let text = "", last = 0, fast = 0;
  document.addEventListener(
    "keydown",
    (event) => {
      const now = event.timeStamp;
      if (now - last > FAST_MS && !text.startsWith("SITE ")) {
        text = "";
        fast = 0;
      }
      last = now;
      if (event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey) {
        text += event.key;
        fast += 1;
        // A space inside a code must not press the button that the cursor happens to stand on.
        if (event.key === " " && fast > 2 && !isField(event.target)) event.preventDefault();
        return;
      }
      if (event.key !== "Enter" || fast < 4) return;
      const typedInto = event.target instanceof HTMLInputElement ? event.target : null;
      if (text.startsWith("SITE ") && !/\nID \S+$/.test(text)) {
        text += "\n";
        if (typedInto) typedInto.value = "";
        event.preventDefault();
        return;
      }
      const code = text;
      text = "";
      fast = 0;
      // Digits typed fast into a field are a mass, not a code.
      if (!/[A-Za-z].*-|^SITE |^STORE /.test(code)) return;
      event.preventDefault();
      event.stopPropagation();
      if (typedInto) typedInto.value = typedInto.value.replace(code, "").replace(code.split("\n").at(-1), "");
      take(code);
    },
    true,
  );
  document.addEventListener("keyup", (event) => event.key === " " && fast > 2 && !isField(event.target) && event.preventDefault(), true);
}

const isField = (target) => target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement;

/** True where a page may use the camera. */
export const cameraAllowed = () => window.isSecureContext && Boolean(navigator.mediaDevices?.getUserMedia);

/**
 * Show the button where there is a camera; a tap opens it, a code closes it.
 * @param {HTMLElement} button
 * @param {(text: string) => void} take
 */
export function camera(button, take) {
  if (!button || !cameraAllowed()) return;
  button.hidden = false;
  let stop = null;
  button.addEventListener("click", async () => {
    if (stop) {
      stop();
      return;
    }
    button.disabled = true;
    try {
      stop = await look(button, (text) => {
        stop?.();
        navigator.vibrate?.(40);
        take(text);
      }, () => {
        stop = null;
        button.textContent = "Camera";
      });
      button.textContent = "Close the camera";
    } catch (error) {
      const why = error.name === "NotAllowedError" ? "the browser was not allowed to use it" : error.name === "NotFoundError" ? "there is none" : error.message;
      say(button, `No camera: ${why}. A photograph of the label works as well.`);
    }
    button.disabled = false;
  });
}

function say(button, words) {
  let line = document.getElementById("camera-says");
  if (!line) {
    line = document.createElement("p");
    line.id = "camera-says";
    line.className = "note";
    line.setAttribute("role", "status");
    button.closest("form").after(line);
  }
  line.textContent = words;
}

/** Open the camera after the button's form and read until a code is seen. */
async function look(button, take, closed) {
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 1280 } }, audio: false });
  const { prepareZXingModule, readBarcodes } = await import("/static/vendor/zxing-wasm/es/reader/index.js");
  prepareZXingModule({ overrides: { locateFile: () => "/static/vendor/zxing-wasm/reader/zxing_reader.wasm" } });
  const video = Object.assign(document.createElement("video"), { className: "camera", muted: true, playsInline: true });
  video.setAttribute("aria-label", "What the camera sees");
  video.srcObject = stream;
  button.closest("form").after(video);
  await video.play();
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  let open = true;
  const stop = () => {
    open = false;
    stream.getTracks().forEach((track) => track.stop());
    video.remove();
    closed();
  };
  (async () => {
    while (open) {
      if (video.videoWidth) {
        canvas.width = video.videoWidth;
        canvas.height = video.videoHeight;
        pen.drawImage(video, 0, 0);
        const found = await readBarcodes(pen.getImageData(0, 0, canvas.width, canvas.height), { formats: ["QRCode", "DataMatrix"], tryHarder: true });
        if (open && found.length) {
          take(found[0].text);
          return;
        }
      }
      await new Promise((done) => setTimeout(done, 120));
    }
  })().catch((error) => {
    stop();
    say(button, `The camera's picture cannot be read (${error.message}). A photograph of the label works as well.`);
  });
  return stop;
}

/** The text that names a box or store in a code: a speaking code's BOX line, else the whole. */
export function codeName(text) {
  const box = /^BOX (.+)$/m.exec(text);
  return text.startsWith("SITE ") && box ? box[1].trim() : text.trim();
}
