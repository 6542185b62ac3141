// What is not in the ledger yet: each thing in words, why it was not taken, and what can be done about it.

import { made, when } from "/static/bench.js";
import { listen, put, remove, tell, waiting } from "/static/queue.js";
import { send } from "/static/sending.js";

const list = document.getElementById("queue");
const empty = document.getElementById("queue-empty");
const now = document.getElementById("send-now");
now.addEventListener("click", send);

async function show() {
  const entries = await waiting();
  empty.hidden = entries.length > 0;
  now.hidden = entries.length === 0;
  list.replaceChildren(...entries.map(row));
}

function row(entry) {
  const line = made("li");
  line.append(made("b", entry.says), document.createElement("br"), made("small", `${when(entry.words.at)} by this device's clock, ${entry.person}`));
  if (!entry.trouble) {
    line.append(made("p", "Waits for the connection."));
    return line;
  }
  line.append(made("p", `Not recorded: ${entry.trouble.sentence}`, { className: "note note-act" }));
  const buttons = made("div", "", { className: "buttons" });
  const again = made("button", "Try again", { type: "button", className: "button" });
  again.addEventListener("click", async () => {
    await put("outbox", { ...entry, trouble: null });
    tell();
    send();
  });
  const drop = made("button", "Take it off the list", { type: "button", className: "button button-quiet" });
  drop.addEventListener("click", async () => {
    if (!window.confirm(`“${entry.says}” is not in the ledger and will not be. Take it off the list?`)) return;
    await remove("outbox", entry.seq);
    tell();
  });
  buttons.append(again, drop);
  line.append(buttons);
  return line;
}

listen(show);
show();
