// The page of readings: enter, take a table, and decide; the page is drawn anew when something has changed.

import { Refused, ask, tell, tellTrouble } from "/static/workbench.js";
import { newToken } from "/static/phone_queue.js";

const at = (id) => document.getElementById(id);
const quantities = new Map(JSON.parse(at("quantities").textContent).map((one) => [one.id, one]));
const car = at("enter").dataset.address.replace(/\/enter$/, "");

function options(select, pairs, first = null) {
  select.replaceChildren(...(first === null ? [] : [new Option(first, "")]), ...pairs.map(([id, label]) => new Option(label, id)));
}

function choose() {
  const one = quantities.get(at("quantity").value);
  options(at("unit"), one.units);
  at("unit").parentElement.classList.toggle("plain-number", one.units.length < 2 && one.units[0][1] === "none");
  options(at("part"), one.parts);
  at("details").replaceChildren(...Object.entries(one.details).map(([name, words]) => detail(name, words)));
}

function detail(name, words) {
  const line = document.createElement("p");
  line.className = "pair";
  const label = document.createElement("label");
  label.htmlFor = `detail-${name}`;
  label.textContent = `${name[0].toUpperCase()}${name.slice(1).replaceAll("_", " ")}`;
  const field = document.createElement(words.length ? "select" : "input");
  field.id = label.htmlFor;
  field.dataset.detail = name;
  if (words.length) options(field, words.map((word) => [word, word]), "not said");
  else field.inputMode = "decimal";
  line.append(label, field);
  return line;
}

function given(form) {
  const reading = { quantity: "", value: "" };
  for (const field of form.elements) {
    if (field.name && field.value) reading[field.name] = field.value.trim();
  }
  const details = {};
  for (const field of form.querySelectorAll("[data-detail]")) {
    if (field.value) details[field.dataset.detail] = field.value.trim();
  }
  return Object.keys(details).length ? { ...reading, details } : reading;
}

function refuse(form, error) {
  const line = form.querySelector(".refused");
  if (!(error instanceof Refused) || !error.problem) { tellTrouble(error); return; }
  const { found, allowed, advice } = error.problem;
  line.textContent = error.code === 409 ? "Somebody changed it meanwhile; the page shows it as it is now." : `${found}: ${allowed}. ${advice}`;
  line.hidden = false;
}

let token = newToken();
at("enter").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target;
  form.querySelector(".refused").hidden = true;
  try {
    await ask(form.dataset.address, { method: "POST", body: { reading: given(form), token } });
    token = newToken();
    location.reload();
  } catch (error) {
    refuse(form, error);
    at("value").focus();
  }
});

at("table").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target;
  const file = at("file").files[0];
  const came = form.querySelector(".came");
  const asked = new URLSearchParams({ name: file.name, quantity: at("all-of").value });
  try {
    const answer = await ask(`${form.dataset.address}?${asked}`, { method: "POST", body: file });
    const told = [`${answer.new.length} new, ${answer.known} known before.`, ...answer.problems.map((one) => `${one.where}: ${one.found}; ${one.allowed}. ${one.advice}`)];
    came.replaceChildren(...told.map((words) => { const line = document.createElement("p"); line.textContent = words; return line; }));
    if (answer.new.length && !answer.problems.length) location.reload();
    else if (answer.new.length) {
      const again = document.createElement("button");
      again.type = "button";
      again.textContent = "Show those that came in";
      again.addEventListener("click", () => location.reload());
      came.append(again);
    }
  } catch (error) {
    tellTrouble(error);
  }
});

at("hear").addEventListener("click", async (event) => {
  try {
    const answer = await ask(event.target.dataset.address, { method: "POST" });
    if (answer.new.length) location.reload();
    else tell("Nothing was called out that is not here already.");
  } catch (error) {
    tellTrouble(error);
  }
});

// Decisions ------------------------------------------------------------------------------------------------------------

let amending = null;

async function decide(item, verb, reading = null) {
  item.setAttribute("aria-busy", "true");
  try {
    const body = { id: item.dataset.id, verb, version: Number(item.dataset.version), ...(reading ? { reading } : {}) };
    await ask(`${car}/decide`, { method: "POST", body });
    sessionStorage.setItem("shutline-reading", item.dataset.id);
    location.reload();
  } catch (error) {
    item.removeAttribute("aria-busy");
    throw error;
  }
}

for (const button of document.querySelectorAll("[data-verb]")) {
  button.addEventListener("click", async () => {
    const item = button.closest(".reading");
    if (button.dataset.verb === "amend") {
      amending = item;
      at("amending-of").textContent = item.querySelector(".what").textContent.trim();
      at("amending-form").reset();
      at("amending-form").querySelector(".refused").hidden = true;
      at("amending").showModal();
      return;
    }
    try {
      await decide(item, button.dataset.verb);
    } catch (error) {
      if (error instanceof Refused && error.code === 409) tell("Somebody changed it meanwhile. Load the page again to see it as it is.", { lasting: true });
      else tellTrouble(error);
    }
  });
}

for (const button of document.querySelectorAll("[data-enter]")) {
  button.addEventListener("click", async () => {
    const item = button.closest(".reading");
    item.setAttribute("aria-busy", "true");
    try {
      await ask(`${car}/measured`, { method: "POST", body: { key: item.dataset.key, found: button.dataset.enter } });
      location.reload();
    } catch (error) {
      item.removeAttribute("aria-busy");
      tellTrouble(error);
    }
  });
}

const anywhere = [...quantities.values()].find((one) => one.id === "paint_film");
options(at("amend-part"), anywhere.parts, "as it was");
at("amending").querySelector("[data-close]").addEventListener("click", () => at("amending").close());
at("amending-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    await decide(amending, "amend", given(event.target));
  } catch (error) {
    refuse(event.target, error);
  }
});

at("quantity").addEventListener("change", choose);
choose();

// The page comes back to what was decided about.
const last = sessionStorage.getItem("shutline-reading");
sessionStorage.removeItem("shutline-reading");
const item = last && at(`reading-${last}`);
if (item) {
  item.closest("details")?.setAttribute("open", "");
  item.querySelector("button")?.focus();
}
