// The finds at the bench, kept by this device so that each can be packed without a connection.

const paths = [...document.querySelectorAll("a[data-page]")].slice(0, 30).map((link) => link.getAttribute("href"));
const note = document.getElementById("kept-note");
if (note && "serviceWorker" in navigator) note.hidden = false;
navigator.serviceWorker?.ready.then((worker) => worker.active?.postMessage({ keep: ["/pack", ...paths] })).catch(() => {});
