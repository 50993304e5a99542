// What all pages on a phone share: what waits there to be sent, shown, and the page kept for when there is no signal.

import { button, row, tell, text } from "/static/workbench.js";
import { bytesOf, drop, retry } from "/static/phone_queue.js";

const at = (id) => document.getElementById(id);
const STANDING = {
  sending: "Being sent.",
  door: "The workbench wants you to come in again: open its link or its door in this browser, then come back here. What waits is safe on this phone.",
  "no signal": "No signal. It is kept on this phone and goes out by itself.",
};
const pictures = new Map();
let standing = "";

/** Show what waits, in the section for it, after a change that the queue tells of. */
export async function showWaiting({ state, thing, waiting: things }) {
  if (state in STANDING) standing = STANDING[state];
  if (state === "arrived") tell(`${thing.placeName}: in the car file.`);
  if (state === "sent" && things.length === 0) standing = "";
  const refused = things.filter((one) => one.problem).length;
  const left = things.length - refused;
  at("queue").hidden = things.length === 0;
  at("phone").dataset.waiting = things.length;
  const count = left ? `${left} ${left === 1 ? "waits" : "wait"} to be sent. ` : "";
  const odd = refused ? `${refused} could not be taken. ` : "";
  at("standing").textContent = `${count}${odd}${left ? standing : ""}`.trim();
  at("send").hidden = left === 0;
  // Only on the network is there a door with a pass phrase.
  at("door").hidden = left === 0 || standing !== STANDING.door || ["127.0.0.1", "localhost"].includes(location.hostname);
  for (const [token, address] of pictures) {
    if (!things.some((one) => one.token === token)) { URL.revokeObjectURL(address); pictures.delete(token); }
  }
  at("waiting").replaceChildren(...(await Promise.all(things.map(waitingRow))));
}

async function waitingRow(thing) {
  const told = { picture: "Picture", spoken: thing.speaking ? "Being spoken" : "Spoken note", typed: thing.words, reading: thing.words, work: thing.words, shows: `It shows: ${thing.line}` };
  const beside = thing.kind === "picture" && (await picture(thing));
  const words = row("div", [text("p", told[thing.kind]), text("p", `${thing.placeName}, ${clock(thing.at)}`, "soft")]);
  const made = row("li", [beside || sort(thing.kind), words]);
  if (thing.problem) {
    made.className = "refused";
    words.append(text("p", `${thing.problem.where}: ${thing.problem.found}; ${thing.problem.allowed}.`));
    made.append(await acts(thing));
  }
  return made;
}

async function acts(thing) {
  const made = row("div", [button("Try again", () => retry(thing.token))]);
  made.className = "acts";
  const data = await bytesOf(thing.token);
  if (data) {
    const save = text("a", "Save on phone", "button");
    save.href = URL.createObjectURL(new Blob([data], { type: thing.type }));
    save.download = thing.name;
    made.append(save);
  }
  made.append(button("Take away", () => {
    if (confirm("Take it off this phone? It is not in the car file.")) drop(thing.token);
  }));
  return made;
}

async function picture(thing) {
  if (!pictures.has(thing.token)) {
    const data = await bytesOf(thing.token);
    if (!data) return null;
    pictures.set(thing.token, URL.createObjectURL(new Blob([data], { type: thing.type })));
  }
  const image = document.createElement("img");
  image.src = pictures.get(thing.token);
  image.alt = "";
  return image;
}

/** Say in a word what sort of thing it is. */
export function sort(kind) { return text("span", { picture: "seen", spoken: "said", typed: "written", reading: "measured", work: "work", shows: "shows" }[kind], "sort"); }

/** Give a time as it is said. */
export function clock(time) { return new Date(time).toLocaleString("en-GB", { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" }); }

/** Let the page be opened without signal; `cannot` says why it is not to be promised, `beside` names its pictures. */
export async function keepThePage({ cannot = "", beside = [] } = {}) {
  if (cannot) {
    at("limits").textContent = cannot;
    at("limits").hidden = false;
  }
  if (!("serviceWorker" in navigator)) return;
  navigator.serviceWorker.addEventListener("message", (event) => {
    if (event.data?.kept !== location.pathname || cannot) return;
    at("limits").textContent = "This page opens without signal, too.";
    at("limits").hidden = false;
  });
  try {
    await navigator.serviceWorker.register("/at-the-car/worker.js", { scope: "/cars/" });
    await keepAnew(beside);
  } catch { /* it opens with signal alone, then */ }
}

/** Let the page be kept as it is by now, after something of it has changed in the workbench. */
export async function keepAnew(beside = []) {
  (await navigator.serviceWorker?.ready)?.active.postMessage({ keep: location.pathname, beside });
}
