// Tables of prices come in with their columns said once; a price is noted, said otherwise, taken back.

import { Refused, ask, goTo, row, tell, tellTrouble, text } from "/static/workbench.js";

const DONE = "shutline.prices";
const FIELDS = {
  attribute: "it tells of the car, called …",
  "": "it is left out",
  when: "the day",
  price: "the price",
  sold: "sold, or asked",
  car: "the mark or stock number",
  mileage: "the mileage",
  unit: "what the mileage is in",
  condition: "the condition",
  where: "where it was",
  days: "days in stock",
  source: "who says so",
  currency: "the currency",
};
const ATTRIBUTE = "attribute-";

const done = sessionStorage.getItem(DONE);
if (done) {
  sessionStorage.removeItem(DONE);
  tell(done);
}

for (const form of document.querySelectorAll("form[data-to]")) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    send(form, noted(form));
  });
  for (const button of form.querySelectorAll("button")) button.disabled = false;
}
for (const button of document.querySelectorAll("button[data-to]")) {
  button.addEventListener("click", () => send(button, { version: Number(button.dataset.version), ...(button.dataset.to.endsWith("/amend") ? { fields: {}, attributes: {} } : {}) }));
  button.disabled = false;
}

async function send(from, body) {
  const buttons = from.matches("button") ? [from] : [...from.querySelectorAll("button")];
  for (const button of buttons) button.disabled = true;
  if (from.matches("form")) refuse(from, "");
  try {
    await ask(from.dataset.to, { method: "POST", body });
    sessionStorage.setItem(DONE, from.dataset.done);
    goTo(location.pathname + location.search);
  } catch (error) {
    if (error instanceof Refused && error.problem && from.matches("form")) refuse(from, words(error));
    else tellTrouble(error);
    for (const button of buttons) button.disabled = false;
  }
}

function noted(form) {
  const fields = {};
  const attributes = {};
  for (const { name, value } of form.elements) {
    if (name === "more") {
      for (const one of value.split(",")) {
        const [called, ...rest] = one.split("=");
        if (one.trim()) attributes[called.trim()] = rest.join("=").trim();
      }
    } else if (name.startsWith(ATTRIBUTE)) attributes[name.slice(ATTRIBUTE.length)] = value;
    else if (name) fields[name] = value;
  }
  return { fields, attributes, version: form.dataset.version ? Number(form.dataset.version) : null };
}

function words(error) {
  const { found, allowed, advice } = error.problem;
  const said = `${found}; ${allowed}. ${advice}`;
  return said.charAt(0).toUpperCase() + said.slice(1);
}

function refuse(form, said) {
  const place = form.querySelector(".refused[role]");
  place.textContent = said;
  place.hidden = !said;
  if (said) place.scrollIntoView({ block: "nearest" });
}

const table = document.getElementById("table");
const columns = document.getElementById("columns");
let brought = null;

table?.addEventListener("submit", (event) => event.preventDefault());
document.getElementById("table-file")?.addEventListener("change", async ({ target }) => {
  const [file] = target.files;
  columns.hidden = true;
  document.getElementById("brought").hidden = true;
  refuse(table, "");
  if (!file) return;
  try {
    const data = new Uint8Array(await file.arrayBuffer());
    brought = { name: file.name, text: new TextDecoder("utf-8", { fatal: true }).decode(data) };
  } catch {
    refuse(table, "It is not UTF-8. A spreadsheet saves it so as CSV UTF-8; choose it again then.");
    return;
  }
  try {
    ask_columns(await ask("/prices/look", { method: "POST", body: brought }));
  } catch (error) {
    if (error instanceof Refused && error.problem) refuse(table, words(error));
    else tellTrouble(error);
  }
});

function ask_columns(look) {
  columns.querySelector(".columns").replaceChildren(...look.headings.map(heading));
  document.getElementById("columns-said").textContent = look.said
    ? "As it was said before of such headings. Said otherwise, the rows of this table are read anew."
    : "As far as the headings tell. It is kept for every table with these headings.";
  const form = document.getElementById("columns-form");
  if (![...form.options].some((one) => one.value === look.day_form)) form.add(new Option(look.day_form, look.day_form));
  form.value = look.day_form;
  document.getElementById("columns-sold").value = look.sold_words.join(", ");
  document.getElementById("columns-all").value = look.sold ? "sold" : "asked";
  document.getElementById("columns-unit").value = look.unit;
  document.getElementById("columns-currency").value = look.currency;
  refuse(columns, "");
  columns.hidden = false;
  columns.querySelector("button").disabled = false;
  document.getElementById("columns-heading").focus();
}

function heading({ heading: head, samples, means, called }, at) {
  const choice = document.createElement("select");
  choice.id = `column-${at}`;
  for (const [value, label] of Object.entries(FIELDS)) choice.add(new Option(label, value));
  choice.value = means;
  const name = document.createElement("input");
  name.value = called;
  name.maxLength = 100;
  name.autocomplete = "off";
  name.setAttribute("aria-label", `What ${head || "the column without a heading"} is called`);
  const show = () => { name.hidden = choice.value !== "attribute"; };
  choice.addEventListener("change", show);
  show();
  const label = text("label", head || "without a heading");
  label.htmlFor = choice.id;
  const seen = text("span", samples.join("; ") || "empty in the first rows", "seen");
  const line = row("li", [row("div", [label, seen]), row("div", [choice, name])]);
  line.lastElementChild.className = "means";
  line.dataset.heading = head;
  return line;
}

columns?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const button = columns.querySelector("button");
  button.disabled = true;
  refuse(columns, "");
  const value = (id) => document.getElementById(`columns-${id}`).value;
  const chosen = {
    headings: [...columns.querySelectorAll(".columns li")].map((line) => ({
      heading: line.dataset.heading,
      samples: [],
      means: line.querySelector("select").value,
      called: line.querySelector("input").value,
    })),
    day_form: value("form"),
    sold_words: value("sold").split(","),
    sold: value("all") === "sold",
    currency: value("currency"),
    unit: value("unit"),
  };
  try {
    tell_taken(await ask("/prices/take-in", { method: "POST", body: { ...brought, chosen } }));
  } catch (error) {
    if (error instanceof Refused && error.problem) refuse(columns, words(error));
    else tellTrouble(error);
    button.disabled = false;
  }
});

// What became of each row stays to be read: the page is loaded anew by a link, not by itself.
function tell_taken(made) {
  const rows = (count) => `${count} ${count === 1 ? "row" : "rows"}`;
  const told = [`${rows(made.rows)}: ${made.new} new`];
  if (made.anew) told.push(`${made.anew} read anew`);
  if (made.there) told.push(`${made.there} kept already`);
  if (made.apart) told.push(`${made.apart} kept apart`);
  const place = document.getElementById("brought");
  const link = text("a", "Show the prices");
  link.href = "/prices";
  const trouble = made.problems.slice(0, 20).map(({ where, found, allowed }) => text("li", `${where}: ${found}; ${allowed}`));
  const list = row("ul", trouble);
  const more = made.problems.length > 20 ? [text("p", `And ${made.problems.length - 20} more; all of them are kept apart below.`)] : [];
  place.replaceChildren(text("p", `${told.join(", ")}.`), ...(trouble.length ? [list] : []), ...more, row("p", [link]));
  columns.hidden = true;
  table.reset();
  place.hidden = false;
  link.focus();
}
