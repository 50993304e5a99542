// At the car: choose a part, then a picture, a few spoken words or a typed note for it.

import { button, row, tell, text } from "/static/workbench.js";
import { drop, keepAndSend, newToken, send, takeUp, waiting, whenChanged } from "/static/phone_queue.js";
import { speak, whyNot } from "/static/phone_voice.js";
import { clock, keepThePage, showWaiting, sort } from "/static/phone_waiting.js";

const at = (id) => document.getElementById(id);
const CAR = at("phone").dataset.car;
const LAST = `shutline-last-${CAR}`;
const MOST_LAST = 6;
const buttons = [...at("places").querySelectorAll("button")];
const names = new Map(buttons.map((button) => [button.dataset.place, button.textContent]));
const plan = document.querySelector("#plan svg");
const whole = plan.getAttribute("viewBox");
let twin = { known: [], notes: [] };
let here = null;
let shown = null;
let order = Date.now() * 1000;
let reading = 0;

// Where -----------------------------------------------------------------------------------------------------------

function choose(key) { location.hash = key; }

function arrive({ first = false } = {}) {
  const key = decodeURIComponent(location.hash.slice(1));
  here = names.has(key) ? key : null;
  at("where").hidden = here !== null;
  at("here").hidden = at("deeds").hidden = here === null;
  if (here === null) {
    showLast();
    if (!first) at("where-title").focus();
    return;
  }
  at("place").textContent = names.get(here);
  remember([here, ...lately().filter((one) => one !== here)].slice(0, MOST_LAST));
  showHere();
  if (!first) { scrollTo(0, 0); at("place").focus(); }
}

function lately() {
  try { return JSON.parse(localStorage.getItem(LAST) ?? "[]").filter((key) => names.has(key)); } catch { return []; }
}

function remember(keys) {
  try { localStorage.setItem(LAST, JSON.stringify(keys)); } catch { /* the phone keeps nothing: the list does without */ }
}

function showLast() {
  const keys = lately();
  at("last").hidden = keys.length === 0;
  at("last").replaceChildren(...keys.map((key) => button(names.get(key), () => choose(key))));
}

const SAME = [[/\b(left|n\/s|near side)\b/g, "nearside"], [/\b(right|o\/s|off side)\b/g, "offside"], [/\bback\b/g, "rear"]];

function seek() {
  const typed = SAME.reduce((words, [other, ours]) => words.replace(other, ours), at("seek").value.toLowerCase().trim());
  const words = typed.split(/\s+/).filter(Boolean);
  let fits = 0;
  for (const one of buttons) {
    const name = one.textContent.toLowerCase();
    const hit = words.every((word) => name.includes(word));
    one.parentElement.hidden = !hit;
    fits += hit;
  }
  at("places").classList.toggle("found", words.length > 0);
  at("plan").hidden = words.length > 0;
  at("none").hidden = fits > 0;
  at("all").open = words.length > 0;
}

// The Plan --------------------------------------------------------------------------------------------------------

function goNearer(view) {
  const box = view.getBBox();
  const edge = 6;
  plan.setAttribute("viewBox", [box.x - edge, box.y - edge, box.width + 2 * edge, box.height + 2 * edge].join(" "));
  at("plan").classList.add("near");
  at("whole").hidden = false;
  at("nearer").textContent = "Now touch the part.";
}

function goBack() {
  plan.setAttribute("viewBox", whole);
  at("plan").classList.remove("near");
  at("whole").hidden = true;
  at("nearer").textContent = "Touch a face of the car, then the part.";
}

function touched(event) {
  const part = event.target.closest?.("[data-part]");
  if (at("whole").hidden && !part?.closest("#plan-tags")) {
    const view = viewAt(event);
    if (view) goNearer(view);
    return;
  }
  if (!part) return;
  const key = [part.dataset.part, part.dataset.position, part.dataset.side].filter(Boolean).join("-");
  if (names.has(key)) {
    choose(key);
    return;
  }
  // The drawing does not tell which side or end: the list does.
  at("seek").value = part.querySelector("title")?.textContent ?? part.dataset.part.replaceAll("_", " ");
  seek();
  at("seek").focus();
}

function viewAt(event) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(plan.getScreenCTM().inverse());
  const far = (low, high, value) => Math.max(low - value, value - high, 0);
  let best = null;
  for (const view of plan.querySelectorAll("[data-view]")) {
    const box = view.getBBox();
    const away = Math.hypot(far(box.x, box.x + box.width, point.x), far(box.y, box.y + box.height, point.y));
    if (away < 60 && away < (best?.away ?? Infinity)) best = { view, away };
  }
  return best?.view ?? null;
}

// Here ------------------------------------------------------------------------------------------------------------

function showHere() {
  if (here === null) return;
  const known = twin.known.filter((one) => one.places.includes(here));
  at("known").replaceChildren(...known.map((one) => {
    const state = one.state === "heard" ? "heard, nobody has looked yet" : "stands";
    return row("li", [document.createTextNode(one.line), text("span", state, "soft")]);
  }));
  const notes = twin.notes.filter((one) => one.place === here);
  at("kept").replaceChildren(...notes.map(noteRow));
  at("known").hidden = known.length === 0;
  at("kept").hidden = notes.length === 0;
  at("nothing").hidden = known.length + notes.length > 0;
}

function noteRow({ note, sha256, read, heard, shows }) {
  const told = { picture: "Picture", spoken: read ? heard || "Nothing was understood; listen to it." : "Spoken, not heard yet", typed: note.words };
  const words = text("p", told[note.kind]);
  if (sha256) {
    const link = text("a", told[note.kind]);
    link.href = `/originals/${sha256}`;
    words.replaceChildren(link);
  }
  const found = shows.length ? `, ${shows.length} ${shows.length === 1 ? "finding" : "findings"}` : "";
  return row("li", [sort(note.kind), row("div", [words, text("p", `${clock(note.at)}, ${note.author}${found}`, "soft")])]);
}

async function readTwin() {
  try {
    const answer = await fetch(`/cars/${CAR}/at-the-car.json`, { credentials: "same-origin" });
    if (answer.ok) twin = await answer.json();
  } catch { /* no signal: what is shown stays */ }
  showHere();
}

async function changed(change) {
  if (change.state === "arrived") {
    clearTimeout(reading);
    reading = setTimeout(readTwin, 300);
  }
  await showWaiting(change);
}

// Notes -----------------------------------------------------------------------------------------------------------

function begin(kind, more = {}) {
  order += 1;
  return {
    token: newToken(), order, kind, car: CAR, place: here, placeName: names.get(here),
    at: new Date().toISOString(), problem: null, ...more,
  };
}

async function keepOrTell(thing, data = null) {
  try {
    await keepAndSend(thing, data);
    return true;
  } catch {
    tell("It could NOT be kept: this phone has no room, or does not let this page keep things.", { lasting: true });
    return false;
  }
}

async function takePicture(input) {
  const file = input.files[0];
  if (!file) return;
  const thing = begin("picture", { name: file.name || "picture.jpg", type: file.type });
  const kept = await keepOrTell(thing, await file.arrayBuffer());
  input.value = "";
  if (kept) askWhatItShows(thing);
}

async function takeSound(input) {
  const file = input.files[0];
  if (!file) return;
  const kept = await keepOrTell(begin("spoken", { name: file.name || "spoken note", type: file.type }), await file.arrayBuffer());
  input.value = "";
  if (kept) tell("The spoken note is kept.");
}

function askWhatItShows(thing) {
  shown = thing;
  at("showing-form").reset();
  at("show-bad").hidden = true;
  at("showing-place").textContent = thing.placeName;
  const known = twin.known.filter((one) => one.places.includes(thing.place));
  at("ties").hidden = known.length === 0;
  at("tie-buttons").replaceChildren(...known.map((one) => button(`Yes: ${one.line}`, () => {
    at("showing").close();
    keepOrTell({ ...begin("shows"), place: shown.place, placeName: shown.placeName, note: shown.token, finding: one.finding, line: one.line });
  })));
  at("showing").showModal();
}

function said(name) {
  const condition = at(`${name}-condition`).value;
  if (!condition) return null;
  const bad = at(`${name}-bad`).hidden ? "" : at(`${name}-severity`).value;
  return { condition, severity: bad || null };
}

async function startSpeaking() {
  let note;
  try {
    note = await speak(begin("spoken"), {
      onSecond: (seconds) => { at("clock").textContent = `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`; },
      onEnd: (thing, away, error) => {
        at("speaking").close();
        if (error) tell("The note could NOT be kept: this phone has no room.", { lasting: true });
        else if (away) drop(away);
        else if (thing) { tell("The spoken note is kept."); send(); }
      },
    });
  } catch {
    offerRecorder("The phone does not let this page listen. Allow the microphone for it, or use the phone's own recorder:");
    return;
  }
  at("clock").textContent = "0:00";
  at("speaking-place").textContent = names.get(here);
  at("speaking-keep").onclick = note.stop;
  at("speaking-away").onclick = () => { if (confirm("Throw this note away?")) note.throwAway(); };
  at("speaking").oncancel = (event) => { event.preventDefault(); note.stop(); };
  at("speaking").showModal();
}

function offerRecorder(why) {
  at("speak").hidden = true;
  at("speak-file").hidden = false;
  if (why) tell(`${why} Speak takes its file.`, { lasting: true });
}

for (const one of buttons) one.addEventListener("click", () => choose(one.dataset.place));
for (const one of document.querySelectorAll("[data-close]")) one.addEventListener("click", () => one.closest("dialog").close());
for (const name of ["write", "show"]) {
  at(`${name}-condition`).addEventListener("change", (event) => {
    const group = event.target.selectedOptions[0].parentElement;
    at(`${name}-bad`).hidden = group.label !== "Wrong with it";
  });
}
at("seek").addEventListener("input", seek);
at("elsewhere").addEventListener("click", () => { goBack(); at("seek").value = ""; seek(); choose(""); });
at("whole").addEventListener("click", goBack);
plan.addEventListener("click", touched);
at("camera").addEventListener("change", (event) => takePicture(event.target));
at("recorder").addEventListener("change", (event) => takeSound(event.target));
at("speak").addEventListener("click", startSpeaking);
at("send").addEventListener("click", send);
at("write").addEventListener("click", () => {
  at("writing-form").reset();
  at("write-bad").hidden = true;
  at("writing-place").textContent = names.get(here);
  at("writing").showModal();
});
at("writing-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const words = at("words").value.trim();
  if (!words) return;
  if (await keepOrTell(begin("typed", { words, says: said("write") }))) { at("writing").close(); tell("The note is kept."); }
});
at("showing-form").addEventListener("submit", (event) => {
  event.preventDefault();
  at("showing").close();
  const says = said("show");
  if (!says) return;
  const line = at("show-condition").selectedOptions[0].textContent + (says.severity ? `, ${says.severity}` : "");
  keepOrTell({ ...begin("shows"), place: shown.place, placeName: shown.placeName, note: shown.token, says, line });
});
try {
  if (!localStorage.getItem("shutline-care")) at("care").hidden = false;
} catch { at("care").hidden = false; }
at("care-known").addEventListener("click", () => {
  at("care").hidden = true;
  try { localStorage.setItem("shutline-care", "known"); } catch { /* it is told again, then */ }
});
addEventListener("hashchange", () => arrive());

const cannot = {
  address: "On this address your phone lets this page neither listen nor open without signal: speak into the phone's own recorder and choose its file, and keep this page open until nothing waits.",
  browser: "This browser cannot record: speak into the phone's own recorder and choose its file.",
}[whyNot()];
if (cannot) offerRecorder("");

whenChanged(changed);
arrive({ first: true });
readTwin();
keepThePage({ cannot });
takeUp().then(waiting).then((things) => changed({ state: "begun", waiting: things })).then(send);
