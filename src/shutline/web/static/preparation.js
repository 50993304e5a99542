// Preparation: the curve comes once, moving the sum only picks from it; reasons and days follow from the server.

import { ask, piece, Refused, tell, tellTrouble } from "/static/workbench.js";

const address = document.getElementById("plan").dataset.address;
let points = [];
let asked = 0;

const sure = () => document.getElementById("plan").dataset.sure;
const pounds = (pence) => `${pence < 0 ? "−" : ""}£${Math.round(Math.abs(pence) / 100).toLocaleString("en-GB")}`;
const query = (pence) => {
  const found = new URLSearchParams({ start: document.getElementById("start").value, sure: sure() });
  const by = document.getElementById("by").value;
  if (by) found.set("by", by);
  if (pence !== null) found.set("budget", pence / 100);
  return `?${found}`;
};

function sentence(point) {
  const jobs = `${point.chosen.length} ${point.chosen.length === 1 ? "job" : "jobs"}`;
  const gain = point.gain < 0 ? `${pounds(-point.gain)} more than a buyer would knock off` : `${pounds(point.gain)} gained`;
  const enough = sure() === "0" ? "spent" : `is enough in ${sure()} of a hundred`;
  return `${pounds(point.money)} ${enough}, ${jobs}: ${gain}`;
}

// What is chosen at a point, at once, from what is here already.
function pick(slider) {
  const point = points[Number(slider.value)];
  if (!point) return;
  const wide = Math.max(points.at(-1).money - points[0].money, 1);
  document.getElementById("said").textContent = sentence(point);
  document.getElementById("now").setAttribute("d", `M${1000 * (point.money - points[0].money) / wide} 0V160`);
  slider.setAttribute("aria-valuetext", sentence(point));
  const chosen = new Set(point.chosen);
  for (const job of document.querySelectorAll(".job")) {
    const within = chosen.has(job.dataset.id);
    if (within === !job.classList.contains("out")) continue;
    job.classList.toggle("out", !within);
    job.querySelector(".state").textContent = within ? "To be done" : "Left at this sum";
    job.querySelector(".reason-told")?.remove();
  }
}

async function show(search) {
  const mine = ++asked;
  const plan = document.getElementById("plan");
  plan.setAttribute("aria-busy", "true");
  try {
    const fresh = (await piece(`${address}${search}`)).getElementById("plan");
    if (mine !== asked) return;
    const focused = document.activeElement?.id;
    history.replaceState(null, "", `${address}${search}`);
    plan.replaceWith(fresh);
    ready();
    if (focused) document.getElementById(focused)?.focus();
  } catch (error) {
    plan.removeAttribute("aria-busy");
    tellTrouble(error);
  }
}

async function decide(body) {
  try {
    await ask(`${address}/decide`, { method: "POST", body });
    await load(query(body.kind === "budget" || points.length === 0 ? null : present()));
  } catch (error) {
    if (error instanceof Refused && error.code === 409) tell("Somebody decided otherwise meanwhile. Load the page again to see it.", { lasting: true });
    else tellTrouble(error);
  }
}

const present = () => {
  const given = new URLSearchParams(location.search).get("budget");
  return given ? Math.round(100 * Number(given)) : null;
};
const sum = (text) => Math.round(100 * Number(text.replaceAll(",", "").replace("£", "")));

// The curve is worked out by asking for the twin of the page; then the page has it too.
async function load(search) {
  try {
    await ask(`${address}.json${search}`);
    await show(search);
    const wait = document.getElementById("wait");
    if (wait) wait.textContent = "What is gained at other sums was not found in the time that is given to it.";
  } catch (error) {
    tellTrouble(error);
  }
}

function ready() {
  const plan = document.getElementById("plan");
  const slider = document.getElementById("budget");
  if (slider) {
    ask(`${address}.json${location.search}`).then((found) => {
      points = found.curve;
      slider.setAttribute("aria-valuetext", document.getElementById("said").textContent);
      slider.dataset.ready = "yes";
    }, tellTrouble);
    slider.addEventListener("input", () => pick(slider));
    slider.addEventListener("change", () => { if (points.length) show(query(points[Number(slider.value)].money)); });
  }
  document.getElementById("keep")?.addEventListener("click", () => {
    const point = points[Number(slider?.value)];
    const pence = present() ?? point?.money;
    if (pence !== undefined) decide({ kind: "budget", pence, words: sure() === "0" ? "" : sure() });
  });
  document.getElementById("asking").addEventListener("submit", (event) => {
    event.preventDefault();
    const pence = sum(event.target.elements.asking.value);
    if (Number.isFinite(pence)) decide({ kind: "asking", pence });
    else tell("A price is a number of pounds, such as 8500.", { lasting: true });
  });
  for (const form of plan.querySelectorAll(".reason")) {
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      decide({ kind: form.dataset.kind, about: form.dataset.about, words: form.elements.words.value });
    });
  }
  for (const button of plan.querySelectorAll("[data-back]")) {
    button.addEventListener("click", () => decide({ kind: button.dataset.back, about: button.dataset.about, holds: false, version: Number(button.dataset.version) }));
  }
}

ready();
if (document.getElementById("plan").dataset.curve === "wanted") load(location.search);
