// Marks a part of the recording, has it listened to, and plays the moments that were found.

import { Refused, ask, moment, tellTrouble } from "/static/workbench.js";

const form = document.querySelector(".asking");
const films = [...document.querySelectorAll(".film .one")];

function shown() {
  return films.find((one) => !one.hidden) ?? films[0];
}

function player() {
  return shown()?.querySelector("video, audio");
}

function choose(id) {
  for (const one of films) {
    if (one.dataset.id !== id) one.querySelector("video, audio").pause();
    one.hidden = one.dataset.id !== id;
  }
}

/** Read a moment, as 185, 3:05 or 1:02:05; null where the field is empty, NaN where it is none. */
function seconds(text) {
  if (!text.trim()) return null;
  return text.trim().split(":").reduce((total, piece) => total * 60 + (piece.trim() ? Number(piece.replace(",", ".")) : NaN), 0);
}

function number(text) {
  return text.trim() ? Number(text.replace(",", ".")) : null;
}

function refuse(words) {
  const place = form.querySelector(".refused");
  place.textContent = words;
  place.hidden = !words;
}

async function listen() {
  const field = (name) => form.elements[name].value;
  const [from, to] = [seconds(field("from")), seconds(field("to"))];
  const [coolant, outside, standing] = ["coolant", "outside", "standing"].map((name) => number(field(name)));
  if ([from, to, coolant, outside, standing].some(Number.isNaN)) {
    refuse("A moment is written as 185, 3:05 or 1:02:05, a reading as a number.");
    return;
  }
  const body = { recording: shown().dataset.id, from_s: from, to_s: to, strokes: Number(field("strokes")) };
  if (field("cylinders")) body.cylinders = Number(field("cylinders"));
  body.readings = { coolant_c: coolant, outside_c: outside, standing_h: standing };
  const button = form.querySelector("button.main");
  const state = form.querySelector(".state");
  refuse("");
  button.disabled = true;
  state.textContent = "Listening…";
  try {
    await ask(form.dataset.listen, { method: "POST", body });
    location.reload();
  } catch (error) {
    button.disabled = false;
    state.textContent = "";
    if (error instanceof Refused && error.problem) {
      const { where, found, allowed, advice } = error.problem;
      refuse(`${where}: ${found}; ${allowed}. ${advice}`);
    } else tellTrouble(error);
  }
}

if (form) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    listen();
  });
  form.elements.recording?.addEventListener("change", (event) => choose(event.target.value));
  for (const button of form.querySelectorAll("[data-mark]")) {
    button.addEventListener("click", () => {
      const at = player().currentTime;
      form.elements[button.dataset.mark].value = `${moment(at)}.${Math.floor((at % 1) * 10)}`;
    });
  }
}

for (const button of document.querySelectorAll("[data-play]")) {
  button.addEventListener("click", () => {
    choose(button.closest("[data-id]").dataset.id);
    if (form?.elements.recording) form.elements.recording.value = shown().dataset.id;
    player().currentTime = Number(button.dataset.play);
    player().play();
  });
}
