// The price: what is moved is asked for again at once, and the words and drawings that follow from it are put in place.

import { ask, piece, Refused, tell, tellTrouble } from "/static/workbench.js";

const root = document.getElementById("price");
const { address, preparation, version, askingVersion } = root.dataset;
const form = document.getElementById("figures");
let asked = 0;
let wait = 0;

const number = (text) => Number(text.replaceAll(",", "").replace("£", ""));
const field = (name) => document.getElementById(name);
const slider = (name) => document.getElementById(`${name}-range`);

// What stands in the form now, in place of all that is kept.
function query() {
  const found = new URLSearchParams({ kept: "no" });
  for (const [name, value] of new FormData(form)) {
    if (name !== "kept" && (value.trim() || name === "tax" || name === "premium")) found.set(name, value.trim());
  }
  return `?${found}`;
}

async function show() {
  const mine = ++asked;
  root.setAttribute("aria-busy", "true");
  const search = query();
  try {
    const fresh = await piece(`${address}${search}`);
    if (mine !== asked) return;
    for (const part of fresh.querySelectorAll("[data-part]")) {
      form.querySelector(`[data-part="${part.dataset.part}"]`)?.replaceWith(part);
    }
    for (const range of fresh.querySelectorAll("input[type=range][data-reckoned]")) {
      const name = range.dataset.of;
      const here = slider(name);
      if (Number(range.max) > Number(here.max)) here.max = range.max;
      here.dataset.reckoned = range.dataset.reckoned;
      field(name).placeholder = range.dataset.reckoned;
      if (field(name).value.trim() === "") here.value = range.value;
    }
    history.replaceState(null, "", `${address}${search}`);
  } catch (error) {
    if (mine === asked) await tellWhy(error, search);
  } finally {
    if (mine === asked) root.removeAttribute("aria-busy");
  }
}

// A page that was refused does not say why in data; its twin does.
async function tellWhy(error, search) {
  if (!(error instanceof Refused)) return tellTrouble(error);
  try {
    await ask(`${address}.json${search}`);
    return tellTrouble(error);
  } catch (refused) {
    return tellTrouble(refused);
  }
}

function soon() {
  clearTimeout(wait);
  wait = setTimeout(show, 120);
}

function mark(name) {
  const back = form.querySelector(`.back[data-of="${name}"]`);
  if (back) back.hidden = field(name).value.trim() === "";
}

// Where to go on: what was tried and is not kept by this stays in the form.
function onward(keeps) {
  if (!location.search) return address;
  const left = new URLSearchParams(query());
  left.delete(keeps);
  return `${address}?${left}`;
}

async function keep(where, body, then) {
  try {
    await ask(where, { method: "POST", body });
    location.assign(then);
  } catch (error) {
    if (error instanceof Refused && error.code === 409) tell("Somebody said otherwise meanwhile. Load the page again to see it.", { lasting: true });
    else tellTrouble(error);
  }
}

function ready() {
  for (const range of form.querySelectorAll("input[type=range]")) {
    const name = range.dataset.of;
    range.addEventListener("input", () => { field(name).value = range.value; mark(name); soon(); });
    field(name).addEventListener("input", () => {
      const text = field(name).value.trim();
      const value = text === "" ? Number(range.dataset.reckoned) : number(text);
      if (!Number.isFinite(value)) return;
      if (value > Number(range.max)) range.max = value;
      range.value = value;
      mark(name);
      soon();
    });
  }
  for (const back of form.querySelectorAll(".back")) {
    back.addEventListener("click", () => {
      const name = back.dataset.of;
      field(name).value = "";
      slider(name).value = slider(name).dataset.reckoned;
      mark(name);
      slider(name).focus();
      show();
    });
  }
  for (const name of ["premium", "tax"]) field(name).addEventListener("change", show);
  form.addEventListener("submit", (event) => { event.preventDefault(); clearTimeout(wait); show(); });
  document.getElementById("keep").addEventListener("click", () => {
    const figures = { premium: field("premium").value || null, tax: field("tax").value || null };
    for (const range of form.querySelectorAll(".sliders input[data-reckoned]")) {
      const text = field(range.dataset.of).value.trim();
      figures[range.dataset.of] = text === "" ? null : number(text);
    }
    if (Object.values(figures).some(Number.isNaN)) tell("A figure is a number, such as 250.", { lasting: true });
    else keep(`${address}/keep`, { figures, version: Number(version) }, address);
  });
  document.getElementById("keep-asking").addEventListener("click", () => {
    const pence = Math.round(100 * number(field("asking").value || field("asking").placeholder));
    const body = { kind: "asking", pence };
    if (askingVersion) body.version = Number(askingVersion);
    if (Number.isFinite(pence)) keep(`${preparation}/decide`, body, onward("asking"));
    else tell("A price is a number of pounds, such as 8500.", { lasting: true });
  });
}

const car = document.getElementById("car");
car?.addEventListener("submit", (event) => {
  event.preventDefault();
  const attributes = {};
  for (const input of car.querySelectorAll("input[data-name]")) {
    if (input.value.trim() !== input.dataset.was) attributes[input.dataset.name] = input.value;
  }
  if (Object.keys(attributes).length === 0) tell("Nothing was said otherwise.");
  else keep(`${address}/keep`, { attributes, version: Number(version) }, onward());
});
document.getElementById("as-filed")?.addEventListener("click", () => {
  const attributes = {};
  for (const input of car.querySelectorAll('input[data-kept="yes"]')) attributes[input.dataset.name] = null;
  keep(`${address}/keep`, { attributes, version: Number(version) }, onward());
});

if (form) ready();
for (const one of root.querySelectorAll("[disabled]")) one.disabled = false;
root.dataset.ready = "yes";
