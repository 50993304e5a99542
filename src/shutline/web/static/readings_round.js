// A round of measuring: one place at a time; a figure that was kept is on the phone first, and sent when it can be.

import { drop, keepAndSend, newToken, send, takeUp, waiting, whenChanged } from "/static/phone_queue.js";

const at = (id) => document.getElementById(id);
const round = JSON.parse(at("stops").textContent);
const { stops, each } = round;
const CAR = at("round").dataset.car;
const KEPT = `shutline-round-${CAR}-${round.quantity}`;
const had = stops.map((stop) => [...stop.read]);
let here = null;
let kept = 0;

const unit = () => round.units.find((one) => one.id === at("unit").value) ?? round.units[0];

function details() {
  const found = {};
  for (const field of document.querySelectorAll("[data-detail]")) if (field.value.trim()) found[field.dataset.detail] = field.value.trim();
  return found;
}

// What is said of one figure alone: whether the wheel locked, where the air was heard.
function ofThisOne() {
  const found = {};
  for (const field of document.querySelectorAll("[data-own]")) if (field.value) found[field.dataset.own] = field.value;
  return found;
}

function ask() {
  at("figure").value = "";
  for (const field of document.querySelectorAll("[data-own]")) field.value = "";
  tellHad();
  at("figure").focus();
}

// What was read in another state (dry, wet) does not count for this one.
function readHere(number) {
  const asked = Object.entries(details());
  return had[number].filter((one) => asked.every(([name, value]) => String(one.details[name] ?? "") === value));
}

function figure(one) {
  const label = round.units.find((each) => each.id === one.unit)?.label ?? one.unit;
  return `${one.value} ${label}`.trim();
}

function place(stop) {
  return stop.spot_words ? `${stop.name}, ${stop.spot_words}` : stop.name;
}

// Where ---------------------------------------------------------------------------------------------------------------

function remember() {
  const chosen = { unit: at("unit").value, instrument: at("instrument").value, details: details() };
  try { localStorage.setItem(KEPT, JSON.stringify(chosen)); } catch { /* the phone keeps nothing */ }
}

function recall() {
  try {
    const chosen = JSON.parse(localStorage.getItem(KEPT) ?? "{}");
    if (round.units.some((one) => one.id === chosen.unit)) at("unit").value = chosen.unit;
    if (round.instruments.some(([id]) => id === chosen.instrument)) at("instrument").value = chosen.instrument;
    for (const field of document.querySelectorAll("[data-detail]")) field.value = chosen.details?.[field.dataset.detail] ?? "";
  } catch { /* as it comes */ }
}

function show(number) {
  here = number;
  const under = number !== null && number < stops.length;
  at("before").hidden = number !== null;
  at("step").hidden = at("moves").hidden = !under;
  at("end").hidden = number === null || under;
  document.body.classList.toggle("walking", under);
  if (under) {
    at("count").textContent = `${number + 1} of ${stops.length}`;
    at("walked").value = number + 1;
    at("name").textContent = stops[number].name;
    at("spot").textContent = stops[number].spot_words;
    at("spot").hidden = !stops[number].spot_words;
    at("figure-unit").textContent = unit().label;
    at("refused").hidden = true;
    at("back").disabled = number === 0;
    ask();
  } else if (number !== null) {
    at("kept-words").textContent = `${kept} ${kept === 1 ? "reading" : "readings"} kept on this round.`;
    at("end-title").focus();
  } else {
    list();
    at("before-title").focus();
  }
}

function tellHad() {
  const read = readHere(here);
  const nth = read.length + 1;
  at("figure-label").textContent = each > 1 ? `${round.round}, reading ${nth}${nth <= each ? ` of ${each}` : ""}` : round.round;
  at("had").textContent = read.length ? `Here already: ${read.map(figure).join(", ")}` : "";
}

function list() {
  for (const [number, item] of [...at("places").children].entries()) {
    item.querySelector("[data-read]").textContent = readHere(number).map(figure).join(", ");
  }
}

function begin() {
  remember();
  const first = stops.findIndex((_, number) => readHere(number).length < each);
  show(first < 0 ? 0 : first);
}

// A figure ------------------------------------------------------------------------------------------------------------

function refusal(text) {
  const value = Number(text.replace(",", "."));
  const { lowest, highest, label } = unit();
  if (!text || !Number.isFinite(value)) return "A number in figures, as the instrument shows it.";
  if (value < lowest || value > highest) {
    const round3 = (bound) => Number(bound.toPrecision(4)).toLocaleString("en-GB");
    return `${text} ${label}: such an instrument shows ${round3(lowest)} to ${round3(highest)} ${label}. Read it once more; look at the unit.`;
  }
  return "";
}

at("entry").addEventListener("submit", async (event) => {
  event.preventDefault();
  const text = at("figure").value.trim();
  const why = refusal(text);
  at("refused").textContent = why;
  at("refused").hidden = !why;
  if (why) { at("figure").select(); return; }
  const stop = stops[here];
  const token = newToken();
  const now = new Date().toISOString().slice(0, 19) + "+00:00";
  const reading = {
    quantity: round.quantity, value: text, unit: unit().id, part: stop.part, side: stop.side, position: stop.position,
    spot: stop.spot, details: { ...details(), ...ofThisOne() }, instrument: at("instrument").value, measured_at: now,
  };
  try {
    await keepAndSend({ token, kind: "reading", car: CAR, order: Date.now(), at: now, words: `${round.label} ${text} ${unit().label}`.trim(), placeName: place(stop), reading });
  } catch {
    at("refused").textContent = "This phone could not keep the figure. Write it down, and free some room.";
    at("refused").hidden = false;
    return;
  }
  kept += 1;
  had[here].push({ value: Number(text.replace(",", ".")), unit: reading.unit, details: reading.details, token });
  if (readHere(here).length >= each) show(here + 1);
  else ask();
});

// What waits on the phone ---------------------------------------------------------------------------------------------

whenChanged(({ state, waiting: all }) => {
  const mine = all.filter((thing) => thing.kind === "reading" && thing.car === CAR);
  at("queue").hidden = !mine.length;
  const words = { "no signal": "No signal: kept here, sent when it is back.", door: "The workbench asks you to come in again.", sending: "Sending…" };
  at("standing").textContent = words[state] ?? `${mine.length} to send.`;
  at("waiting").replaceChildren(...mine.map((thing) => {
    const item = document.createElement("li");
    item.textContent = thing.problem ? `${thing.words}, ${thing.placeName}: ${thing.problem.found}. ${thing.problem.advice} ` : `${thing.words}, ${thing.placeName}`;
    if (thing.problem) {
      const away = document.createElement("button");
      away.type = "button";
      away.textContent = "Throw away";
      away.addEventListener("click", () => {
        for (const there of had) there.splice(0, there.length, ...there.filter((one) => one.token !== thing.token));
        drop(thing.token);
      });
      item.append(away);
    }
    return item;
  }));
});

at("begin").addEventListener("click", begin);
at("again").addEventListener("click", () => show(null));
at("leave").addEventListener("click", () => show(null));
at("back").addEventListener("click", () => show(Math.max(0, here - 1)));
at("next").addEventListener("click", () => show(here + 1));
for (const field of document.querySelectorAll("#unit, #instrument, [data-detail]")) field.addEventListener("change", () => { remember(); list(); });

recall();
// What waits from before counts as read.
for (const thing of await waiting()) {
  if (thing.kind !== "reading" || thing.car !== CAR || thing.reading.quantity !== round.quantity) continue;
  const number = stops.findIndex((stop) => ["part", "side", "position", "spot"].every((name) => stop[name] === thing.reading[name]));
  if (number >= 0) had[number].push({ value: Number(String(thing.reading.value).replace(",", ".")), unit: thing.reading.unit, details: thing.reading.details, token: thing.token });
}
list();
await takeUp();
send();
if ("serviceWorker" in navigator && window.isSecureContext) {
  navigator.serviceWorker.register("/at-the-car/worker.js", { scope: "/cars/" }).catch(() => {});
  navigator.serviceWorker.ready.then((there) => there.active?.postMessage({ keep: location.pathname + location.search }));
}
