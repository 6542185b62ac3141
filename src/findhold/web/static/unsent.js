// What is not in the ledger yet: each thing in words, why it was not taken, and what can be done about it.

import { made, showAnswer, when } from "/static/bench.js";
import { listen, put, read, remove, tell, unread, waiting } from "/static/queue.js";
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
  const late = await unread();
  document.getElementById("answers").hidden = !late.length;
  document.getElementById("answers-list").replaceChildren(...late.map(lateAnswer));
}

/** An answer of the ledger that came later, whole, until somebody says that it is read. */
function lateAnswer({ key, told, local }) {
  const line = made("li", "", { className: "answer" });
  const told_here = made("div");
  showAnswer(told_here, told);
  if (told.what) told_here.append(made("p", told.what));
  if (local) told_here.append(made("p", local.verdict === "unknown" ? "On this device it could not be checked." : `On this device it said ${local.verdict}.`, { className: "differs" }));
  const button = made("button", "I have read it", { type: "button", className: "button button-main" });
  button.addEventListener("click", () => read(key));
  line.append(told_here, button);
  return line;
}

function row(entry) {
  const line = made("li");
  line.append(made("b", entry.says), document.createElement("br"), made("small", `${when(entry.words.at)} by this device's clock, ${entry.person}`));
  if (!entry.trouble) {
    line.append(made("p", "Kept on this device, not sent yet."));
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
