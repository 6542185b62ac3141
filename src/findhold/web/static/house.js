// What every page has: forms sent once, with a busy sign, and the token for requests that scripts make.

/** The token of this visit; every request that writes carries it as X-Findhold-Token. */
export function token() {
  return document.querySelector('meta[name="findhold-token"]')?.content ?? "";
}

/** A UUID (version 4), also where the page is not a secure context. */
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** Ask the API; a write needs a key so that sending it again records it once. Throws what the API says is wrong. */
export async function ask(method, path, words, key) {
  const headers = { Accept: "application/json" };
  if (method !== "GET") {
    headers["X-Findhold-Token"] = token();
    headers["Idempotency-Key"] = key ?? newKey();
    headers["Content-Type"] = "application/json";
  }
  const answer = await fetch(`/api/v1${path}`, {
    method,
    headers,
    body: method === "GET" ? undefined : JSON.stringify(words),
    credentials: "same-origin",
  });
  const told = await answer.json();
  if (!answer.ok) {
    throw Object.assign(new Error(told.error?.sentence ?? answer.statusText), { told: told.error, status: answer.status });
  }
  return told;
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post") return;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
  form.setAttribute("aria-busy", "true");
});

// Coming back with the back button: the form may be sent again (the server knows its key).
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) {
    delete form.dataset.sent;
    form.removeAttribute("aria-busy");
  }
});

// On a small screen the navigation is wider than the page: the entry of this page is brought into sight.
const current = document.querySelector(".masthead nav [aria-current]");
if (current) {
  const list = current.closest("ul");
  list.scrollLeft = current.offsetLeft - (list.clientWidth - current.offsetWidth) / 2;
}

// What is wider than its place shows an arrow at the edge behind which more lies; drawings say it in words too.
function tellSliding(place) {
  const frame = place.parentElement;
  const over = place.scrollWidth - place.clientWidth;
  const turned = getComputedStyle(place).direction === "rtl";
  const back = turned ? over + place.scrollLeft : place.scrollLeft;
  frame.classList.toggle("slides", over > 1);
  frame.classList.toggle("slides-not", over <= 1);
  frame.classList.toggle("slides-on", over - back > 2);
  frame.classList.toggle("slides-back", over > 1 && back > 2);
  frame.style.setProperty("--high", `${place.offsetHeight}px`);
}

const widths = new ResizeObserver((seen) => seen.forEach((one) => tellSliding(one.target.closest(".film, .table, ul"))));
for (const place of document.querySelectorAll(".film, .table, .masthead nav ul")) {
  if (place.matches(".table")) {
    const frame = document.createElement("div");
    place.replaceWith(frame);
    frame.append(place);
  }
  // On a plan the first point is brought into sight, not the margin.
  const point = place.querySelector(".over")?.getBoundingClientRect();
  const start = place.getBoundingClientRect().left;
  if (point && point.right > start + place.clientWidth) place.scrollLeft = point.left - start - place.clientWidth / 3;
  place.addEventListener("scroll", () => tellSliding(place), { passive: true });
  widths.observe(place);
  if (place.firstElementChild) widths.observe(place.firstElementChild);
}

for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
