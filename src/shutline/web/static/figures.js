// Figures: taken, corrected sign by sign, set aside; by mouse, by finger or by keys. Decisions wait their turn while one
// is on its way, and the page is drawn anew around what stays: no key, no sign that was typed and no focus is lost.
import { ask, piece, tell, tellTrouble } from "/static/workbench.js";

const base = location.pathname;
const reading = document.querySelector(".reading");
const progress = reading.querySelector(".progress");
const list = document.querySelector(".all");

const figures = () => [...list.querySelectorAll(".figure")];
const signsOf = (figure) => [...figure.querySelectorAll(".sign")];
const textOf = (figure) => signsOf(figure).map((sign) => sign.value).join("");
const unitOf = (figure) => figure.querySelector(".unit");
const amendOf = (figure) => figure.querySelector('[data-verb="amend"]');

function changed(figure) {
  const unit = unitOf(figure);
  const unitWas = unit && ([...unit.options].find((one) => one.defaultSelected) ?? unit.options[0]);
  let other = Boolean(unit) && unit.value !== unitWas.value;
  for (const sign of signsOf(figure)) {
    const typed = sign.value !== sign.defaultValue;
    sign.classList.toggle("typed", typed);
    other ||= typed;
  }
  const amend = amendOf(figure);
  if (amend) amend.hidden = !other;
}

// Decisions -----------------------------------------------------------------------------------------------------------

let queue = Promise.resolve();
let waiting = 0;

/** Take a decision up: the next figure has the focus at once, and what is pressed then is for that one. */
function decide(figure, verb, more = {}) {
  const { fits, state } = figure.dataset;
  if (figure.ariaBusy === "true") return;
  if (verb === "take" && (fits === "no" || state !== "waits")) {
    tell("Correct its signs, or choose a reading that is proposed.");
    return;
  }
  figure.ariaBusy = "true";
  if (verb !== "again") goTo(after(figure));
  waiting += 1;
  queue = queue.then(() => send(figure, verb, more));
}

function after(figure) {
  const open = (one) => one !== figure && one.ariaBusy !== "true";
  const all = figures();
  const at = all.indexOf(figure);
  return all.slice(at + 1).find((one) => open(one) && one.dataset.state === "waits")
    ?? all.find((one) => open(one) && one.dataset.state === "waits")
    ?? all[at + 1]
    ?? figure;
}

async function send(figure, verb, more) {
  const { id, version } = figure.dataset;
  try {
    await ask(`${base}/decide`, { method: "POST", body: { id, verb, version: Number(version), ...more } });
  } catch (error) {
    tellTrouble(error);
  }
  figure.ariaBusy = "false";
  waiting -= 1;
  if (!waiting) await draw().catch(tellTrouble);
}

// Drawing anew --------------------------------------------------------------------------------------------------------

/** Fetch the page, and put what is another than before in its place; a figure that is the same stays the same node. */
async function draw() {
  const fresh = await piece(base);
  renew(document.querySelector(".beside"), fresh.querySelector(".beside"), () => list.before(fresh.querySelector(".beside")));
  const [heading, said] = [list.querySelector("#all-heading"), fresh.querySelector("#all-heading").textContent];
  if (heading.textContent !== said) heading.textContent = said;
  renew(list.querySelector(".keys"), fresh.querySelector(".keys"), () => heading.after(fresh.querySelector(".keys")));
  list.querySelector(".nothing")?.remove();
  const before = new Map(figures().map((figure) => [figure.id, figure]));
  const news = [...fresh.querySelectorAll(".figure")];
  const same = (old, now) => old && old.dataset.version === now.dataset.version && old.className === now.className;
  const kept = new Set(news.filter((now) => same(before.get(now.id), now)).map(({ id }) => id));
  const held = document.activeElement?.closest?.(".figure");
  for (const [id, old] of before) if (!kept.has(id)) old.remove();
  // None of those that stay is moved: a node that is moved loses the focus.
  let there = list.querySelector(".figure");
  for (const now of news) {
    if (kept.has(now.id)) there = before.get(now.id).nextElementSibling;
    else list.insertBefore(now, there);
  }
  if (!news.length) list.append(fresh.querySelector(".nothing"));
  if (held && !kept.has(held.id)) (document.getElementById(held.id) ?? heading).focus();
  drawReading(fresh);
}

function renew(old, now, put) {
  if (old && now) {
    if (old.outerHTML !== now.outerHTML) old.replaceWith(now);
  } else if (old) old.remove();
  else if (now) put();
}

function drawReading(fresh) {
  const now = fresh.querySelector(".reading");
  reading.querySelector(".read").textContent = now.querySelector(".read").textContent;
  for (const old of reading.querySelectorAll(":scope > p")) old.remove();
  reading.append(...now.querySelectorAll(":scope > p"));
}

// Keys and hands ------------------------------------------------------------------------------------------------------

function goTo(figure) {
  if (!figure) return;
  history.replaceState(null, "", `#${figure.id}`);
  figure.focus();
  figure.scrollIntoView({ block: "start" });
}

list.addEventListener("focusin", (event) => {
  if (event.target.matches(".sign")) event.target.select();
});

list.addEventListener("input", (event) => {
  const figure = event.target.closest(".figure");
  if (!figure) return;
  changed(figure);
  const signs = signsOf(figure);
  if (event.target.matches(".sign") && event.target.value.length === 1) signs[signs.indexOf(event.target) + 1]?.focus();
});

list.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  const figure = button?.closest(".figure");
  if (!figure) return;
  if (button.matches(".other")) decide(figure, "amend", { value: button.dataset.value, unit: unitOf(figure)?.value });
  else if (button.dataset.verb === "amend") amend(figure);
  else if (button.dataset.verb) decide(figure, button.dataset.verb);
});

function amend(figure) {
  decide(figure, "amend", { value: textOf(figure), unit: unitOf(figure)?.value });
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const figure = event.target.closest?.(".figure");
  if (event.target.matches(".sign")) {
    among(event, figure);
    return;
  }
  if (event.target.matches("input, select, textarea")) return;
  const key = event.key.toLowerCase();
  if (key === "j" || key === "k") {
    const all = figures();
    const at = all.indexOf(figure);
    goTo(all[key === "j" ? at + 1 : Math.max(at - 1, 0)]);
  } else if (figure && key === "t") decide(figure, "take");
  else if (figure && key === "x") decide(figure, figure.dataset.state === "waits" ? "aside" : "again");
  else if (figure && key === "e") {
    event.preventDefault();
    signsOf(figure)[0]?.focus();
  }
});

/** A key pressed in one of the signs of a figure. */
function among(event, figure) {
  const sign = event.target;
  const signs = signsOf(figure);
  const at = signs.indexOf(sign);
  if (event.key === "Enter") {
    event.preventDefault();
    const other = amendOf(figure);
    if (other && !other.hidden) amend(figure);
    else decide(figure, "take");
  } else if (event.key === "Escape") figure.focus();
  else if (event.key === "ArrowLeft" && sign.selectionEnd <= 1) signs[at - 1]?.focus();
  else if (event.key === "ArrowRight") signs[at + 1]?.focus();
  else if (event.key === "Backspace" && sign.value === "") signs[at - 1]?.focus();
}

if (location.hash.startsWith("#figure-")) document.querySelector(location.hash)?.focus();

// Reading -------------------------------------------------------------------------------------------------------------

const button = reading.querySelector(".read");

async function follow() {
  button.disabled = true;
  progress.hidden = false;
  try {
    for (;;) {
      const now = await ask(reading.dataset.now);
      if (!now || now.ended) break;
      progress.querySelector("progress").value = now.done;
      progress.querySelector("span").textContent = now.at ? `Reading ${now.at}` : "Reading";
      await new Promise((done) => setTimeout(done, 700));
    }
    queue = queue.then(draw);
    await queue;
  } catch (error) {
    tellTrouble(error);
  }
  const held = progress.contains(document.activeElement);
  button.disabled = false;
  progress.hidden = true;
  if (held) button.focus();
}

button.addEventListener("click", async () => {
  try {
    const sweep = reading.querySelector(".sweep").checked;
    await ask(reading.dataset.read, { method: "POST", body: { sweep } });
    follow();
  } catch (error) {
    tellTrouble(error);
  }
});
progress.querySelector(".stop").addEventListener("click", async () => {
  try {
    await ask(reading.dataset.stop, { method: "POST", body: {} });
    tell("It stops at the next good moment; what is done is kept.");
  } catch (error) {
    tellTrouble(error);
  }
});
if ("going" in reading.dataset) follow();
