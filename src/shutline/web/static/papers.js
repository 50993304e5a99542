// Papers: one proposal after another, by mouse, by finger or by keys; files sent and read with a progress to be stopped.
// What is pressed while a decision is on its way waits its turn, and is for the proposal that is shown then.
import { Refused, ask, piece, tell, tellTrouble } from "/static/workbench.js";

const desk = document.querySelector(".desk");
const list = document.querySelector(".all");
const shown = () => desk.querySelector(".proposal");
const field = (name) => desk.querySelector(`#${name}`);
const wasOf = (input) => input.matches("select") ? ([...input.options].find((one) => one.defaultSelected) ?? input.options[0]).value : input.defaultValue;

let queue = Promise.resolve();
const inTurn = (step) => { queue = queue.then(step).catch(tellTrouble); return queue; };

/** Show a proposal: its piece of the page in place of what was there, with the focus on it. */
async function show(address, { focus = true, scroll = false } = {}) {
  const fresh = await piece(address);
  desk.replaceChildren(...fresh.querySelector(".desk").childNodes);
  list.replaceChildren(...fresh.querySelector(".all").childNodes);
  history.replaceState(null, "", address);
  intoSight();
  if (focus) (shown() ?? document.getElementById("desk-heading"))?.focus({ preventScroll: !scroll });
}

/** Bring what is ringed into the part of the page that can be seen. */
function intoSight() {
  const sheet = desk.querySelector(".sheet");
  const ring = sheet?.querySelector(".ring");
  if (!ring) return;
  const at = ring.getBoundingClientRect().top - sheet.getBoundingClientRect().top + sheet.scrollTop;
  sheet.scrollTop = Math.max(0, at - sheet.clientHeight / 3);
}

function typed() {
  const fields = ["value", "unit", "day", "role"].map(field).filter(Boolean);
  const other = fields.filter((input) => input.value !== wasOf(input));
  for (const input of fields) input.classList.toggle("typed", other.includes(input));
  const amend = desk.querySelector('[data-verb="amend"]');
  if (amend) amend.hidden = !other.length;
  return Object.fromEntries(other.map((input) => [input.id, input.value]));
}

const decide = (verb, more) => inTurn(async () => {
  const one = shown();
  if (!one) return;
  const { id, version, state } = one.dataset;
  if (verb === "take" && state !== "open") return;
  const changed = more ?? (verb === "amend" ? typed() : {});
  if (verb === "amend" && !Object.keys(changed).length) return;
  one.ariaBusy = "true";
  try {
    await ask(one.dataset.decide, { method: "POST", body: { id, verb, version: Number(version), ...changed } });
    await show(verb === "again" ? one.dataset.here : one.dataset.next);
  } catch (error) {
    one.ariaBusy = "false";
    if (error instanceof Refused && error.code === 409) await show(one.dataset.here);
    tellTrouble(error);
  }
});

const along = (rel) => inTurn(async () => {
  const link = desk.querySelector(`a[rel="${rel}"]`);
  if (link) await show(link.href);
});

desk.addEventListener("input", typed);
desk.addEventListener("click", (event) => {
  const link = event.target.closest("a[rel]");
  const button = event.target.closest("button");
  if (link) { event.preventDefault(); along(link.rel); }
  else if (button?.matches(".other")) decide("amend", { value: button.dataset.value, unit: button.dataset.unit });
  else if (button?.dataset.verb) decide(button.dataset.verb);
});

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.target.matches("input, select, textarea")) {
    if (!event.target.closest(".proposal")) return;
    if (event.key === "Enter") { event.preventDefault(); decide(Object.keys(typed()).length ? "amend" : "take"); }
    else if (event.key === "Escape") shown()?.focus();
    return;
  }
  const key = event.key.toLowerCase();
  if (key === "t") decide("take");
  else if (key === "x") decide(shown()?.dataset.state === "open" ? "strike" : "again");
  else if (key === "j") along("next");
  else if (key === "k") along("prev");
  else if (key === "e" && field("value")) { event.preventDefault(); field("value").select(); field("value").focus(); }
});

// Papers --------------------------------------------------------------------------------------------------------------

const say = (id, change) => inTurn(async () => {
  // The list may have been drawn anew since it was pressed.
  const item = list.querySelector(`li[data-id="${id}"]`);
  try {
    const body = { id, version: Number(item.dataset.version), ...change };
    await ask(item.parentElement.dataset.said, { method: "POST", body });
  } finally {
    await show(location.pathname + location.search, { focus: false });
    list.querySelector(`[data-id="${id}"] a`)?.focus();
  }
});

list.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-state]");
  if (button) say(button.closest("li").dataset.id, { state: button.dataset.state });
});
list.addEventListener("change", (event) => {
  if (event.target.matches(".kind")) say(event.target.closest("li").dataset.id, { kind: event.target.value });
});

// Bringing in ---------------------------------------------------------------------------------------------------------

const bring = document.querySelector(".bring");
const form = document.getElementById("bring");
const progress = bring.querySelector(".progress");
const words = progress.querySelector("span");
const base = bring.dataset.here;

async function follow() {
  progress.hidden = false;
  for (const button of form.querySelectorAll("button")) button.disabled = true;
  for (;;) {
    const now = await ask(`${base}/now.json`);
    if (!now || now.ended) break;
    progress.querySelector("progress").value = now.done;
    words.textContent = now.at ? `Reading ${now.at}` : "Reading";
    await new Promise((done) => setTimeout(done, 500));
  }
  location.assign(base);
}

async function read(files) {
  const opens = document.getElementById("opens").value;
  const headers = { accept: "application/json", "content-type": "application/json", "shutline-proof": document.querySelector('meta[name="proof"]').content };
  if (opens) headers["shutline-opens"] = encodeURIComponent(opens);
  const response = await fetch(`${base}/read`, { method: "POST", headers, body: JSON.stringify({ files }), credentials: "same-origin" });
  if (!response.ok) throw new Refused(response.status, await response.json().catch(() => null));
  await follow();
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const files = ["files", "camera"].flatMap((id) => [...document.getElementById(id).files]);
  if (!files.length) { tell("Choose a paper first."); return; }
  try {
    const sent = [];
    progress.hidden = false;
    for (const file of files) {
      words.textContent = `Sending ${file.name}`;
      sent.push(await ask(`${base}/arrive?${new URLSearchParams({ name: file.name })}`, { method: "POST", body: file }));
    }
    await read(sent);
  } catch (error) {
    progress.hidden = true;
    tellTrouble(error);
  }
});
form.querySelector(".go-on")?.addEventListener("click", () => read([]).catch(tellTrouble));
progress.querySelector(".stop").addEventListener("click", async () => {
  try {
    await ask(`${base}/stop`, { method: "POST", body: {} });
    tell("It stops after this page; what was read is kept.");
  } catch (error) {
    tellTrouble(error);
  }
});
if ("going" in bring.dataset) follow().catch(tellTrouble);
intoSight();
