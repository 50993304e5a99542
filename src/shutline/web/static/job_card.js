// A job card: hours, a picture and what was found are kept on this phone first, and sent when they can be.

import { tell, text } from "/static/workbench.js";
import { drop, keepAndSend, newToken, send, takeUp, waiting, whenChanged } from "/static/phone_queue.js";
import { keepAnew, keepThePage, showWaiting } from "/static/phone_waiting.js";
import { ringable } from "/static/rings.js";

const at = (id) => document.getElementById(id);
const { car: CAR, trade: TRADE } = at("phone").dataset;
const cards = [...document.querySelectorAll(".card")];
const pictures = [...document.querySelectorAll(".ringed")].map((one) => `/cars/${CAR}/preparation/cards/pictures/${one.dataset.picture}`);
const FRACTIONS = { "¼": 0.25, "½": 0.5, "¾": 0.75 };
let order = Date.now() * 1000;
let keeping = 0;

function begin(kind, more) {
  order += 1;
  return { token: newToken(), order, kind, car: CAR, at: new Date().toISOString(), problem: null, ...more };
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

// Hours -----------------------------------------------------------------------------------------------------------

/** Read 2.5, 2,5, 2½ or 2:30; null for nothing, NaN for what is no hours. */
function hoursOf(words) {
  const typed = words.trim();
  if (!typed) return null;
  const clock = /^(\d{1,3}):([0-5]\d)$/.exec(typed);
  if (clock) return Number(clock[1]) + Number(clock[2]) / 60;
  const fraction = /^(\d{0,3})\s*([¼½¾])$/.exec(typed);
  if (fraction) return Number(fraction[1]) + FRACTIONS[fraction[2]];
  return /^\d{0,3}([.,]\d{0,3})?$/.test(typed) && /\d/.test(typed) ? Number(typed.replace(",", ".")) : NaN;
}

const said = (hours) => String(Math.round(hours * 1000) / 1000);

function step(button) {
  const field = button.parentElement.querySelector("input");
  const hours = Math.max(0, (hoursOf(field.value) || 0) + Number(button.dataset.step));
  field.value = hours ? said(hours) : "";
}

// Ticked off ------------------------------------------------------------------------------------------------------

function showTicked(card, thing, line = null) {
  const sent = thing?.sent;
  const hours = sent?.hours ? `, ${sent.hours} ${sent.hours === "1" ? "hour" : "hours"}` : "";
  card.classList.toggle("over", Boolean(thing));
  card.querySelector(".tick-off").hidden = Boolean(thing);
  const block = card.querySelector(".ticked");
  block.hidden = !thing;
  card.thing = thing;
  card.line = line;
  if (line) delete card.dataset.version;
  at("all-ticked").hidden = !cards.every((one) => one.line && one.line.places >= one.line.of_places);
  const places = card.querySelector("[name=places]")?.options.length ?? 1;
  const some = sent?.places < places ? ` at ${sent.places} of ${places} places` : "";
  block.querySelector("p").textContent = thing ? `Ticked off${some}${hours}. ${line ? "In the car file." : "It waits on this phone."}` : "";
}

async function tick(card) {
  const form = card.querySelector(".tick-off");
  const { elements } = form;
  const refused = form.querySelector(".refused");
  const hours = hoursOf(elements.hours.value);
  const setup = hoursOf(elements.setup_hours?.value ?? "");
  const wrong = [[hours, elements.hours], [setup, elements.setup_hours]].find(([value]) => value !== null && !(value > 0));
  refused.hidden = !wrong;
  if (wrong) {
    refused.textContent = "Hours are a number, such as 2.5 or 2:30; leave them out where nobody noted them.";
    wrong[1].focus();
    return;
  }
  const { place } = elements;
  const placeName = place.selectedOptions?.[0].textContent ?? place.dataset.name;
  const file = elements.picture.files[0];
  // A picture that was kept with a tick since taken back is not kept again.
  if (file && card.file !== file) {
    const taken = begin("picture", { place: place.value, placeName, name: file.name || "picture.jpg", type: file.type });
    if (!(await keepOrTell(taken, await file.arrayBuffer()))) return;
    Object.assign(card, { file, picture: taken.token });
  }
  const sent = {
    task: card.dataset.task, trade: TRADE, picture: file ? card.picture : "",
    found: elements.found.value.trim(), place: place.value,
    // Who names the findings says that they are done with.
    ...(elements.places?.selectedIndex ? {} : { findings: card.dataset.findings.split(" ") }),
    ...(elements.places ? { places: Number(elements.places.value) } : {}),
    ...(card.dataset.version ? { version: Number(card.dataset.version) } : {}),
    ...(hours === null ? {} : { hours: said(hours) }), ...(setup === null ? {} : { setup_hours: said(setup) }),
  };
  const thing = begin("work", { to: "done", words: `Done: ${card.dataset.name}`, placeName, sent });
  showTicked(card, thing);
  if (await keepOrTell(thing)) card.querySelector(".ticked button").focus();
  else showTicked(card, null);
}

const backOf = (work, version, name) => begin("work", { to: "back", words: `Taken back: ${name}`, placeName: name, sent: { work, version } });

async function takeBack(card) {
  const { thing, line } = card;
  const name = card.dataset.name;
  // What waits still is taken off this phone; what came is taken back there.
  if (line ? await keepOrTell(backOf(line.id, line.version, name)) : (await drop(thing.token), true)) {
    showTicked(card, null);
    card.querySelector(".tick-off .main").focus();
  }
}

function showTakenBack(work) {
  const one = document.querySelector(`[data-work="${work}"]`);
  if (!one) return;
  const again = text("a", "Taken back: show the card as it is now", "button");
  again.href = location.pathname;
  one.querySelector("[data-back]").replaceWith(again);
  again.focus();
}

async function changed(change) {
  const { state, thing, answer } = change;
  if (state === "arrived" && thing.kind === "work") {
    const card = cards.find((one) => one.thing?.token === thing.token);
    if (card) showTicked(card, thing, answer);
    if (thing.to === "ring") {
      const figure = document.querySelector(`[data-finding="${thing.sent.finding}"][data-picture="${thing.sent.picture}"]`);
      if (figure) figure.dataset.version = answer.ring.version;
    }
    if (thing.to === "back") showTakenBack(thing.sent.work);
    // The page as it is kept for when there is no signal is that of before.
    clearTimeout(keeping);
    keeping = setTimeout(() => keepAnew(pictures), 1000);
  }
  for (const card of cards) {
    const there = change.waiting.find((one) => one.token === card.thing?.token);
    if (there?.problem) showTicked(card, null);
  }
  await showWaiting(change);
}

// Rings -----------------------------------------------------------------------------------------------------------

async function keepRing(figure, circle) {
  const { finding, picture, version } = figure.dataset;
  // One that was not sent yet is not sent any more.
  if (figure.token) await drop(figure.token);
  const thing = begin("work", {
    to: "ring", words: circle ? "A ring round the place" : "A ring taken away", placeName: figure.closest(".card").dataset.name,
    sent: { finding, picture, version: Number(version), ...circle },
  });
  figure.token = thing.token;
  return keepOrTell(thing);
}

// -----------------------------------------------------------------------------------------------------------------

for (const card of cards) {
  const form = card.querySelector(".tick-off");
  for (const button of form.querySelectorAll("[data-step]")) button.addEventListener("click", () => step(button));
  form.elements.picture.addEventListener("change", ({ target }) => {
    target.nextElementSibling.textContent = target.files[0] ? "Picture taken; take another" : "Picture of it now";
  });
  form.addEventListener("submit", (event) => { event.preventDefault(); tick(card); });
  form.querySelector(".main").disabled = false;
  card.querySelector(".ticked button").addEventListener("click", () => takeBack(card));
}
for (const one of document.querySelectorAll("[data-work]")) {
  const button = one.querySelector("[data-back]");
  button.addEventListener("click", async () => {
    button.disabled = true;
    if (!(await keepOrTell(backOf(one.dataset.work, Number(one.dataset.version), one.querySelector("p").textContent)))) button.disabled = false;
  });
  button.disabled = false;
}
for (const figure of document.querySelectorAll(".ringed")) ringable(figure, (circle) => keepRing(figure, circle));
at("send").addEventListener("click", send);

whenChanged(changed);
keepThePage({
  cannot: window.isSecureContext ? "" : "On this address your phone does not let this page open without signal: keep it open until nothing waits.",
  beside: pictures,
});
await takeUp();
const things = await waiting();
// What was ticked off before the page was loaded, and has not been sent yet.
for (const thing of things) {
  if (thing.kind !== "work" || thing.to !== "done" || thing.problem || thing.car !== CAR || thing.sent.trade !== TRADE) continue;
  const card = cards.find((one) => one.dataset.task === thing.sent.task);
  if (card) showTicked(card, thing);
}
await changed({ state: "begun", waiting: things });
send();
