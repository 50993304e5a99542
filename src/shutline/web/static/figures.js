// Figures: taken, corrected sign by sign, set aside; by mouse, by finger or by keys.
import { ask, tell, tellTrouble } from "/static/workbench.js";

const base = location.pathname;
const all = [...document.querySelectorAll(".figure")];

for (const figure of all) {
  const signs = [...figure.querySelectorAll(".sign")];
  const amend = figure.querySelector('[data-verb="amend"]');
  const unit = figure.querySelector(".unit");
  const before = signs.map((sign) => sign.value);
  const unitBefore = unit?.value;
  const text = () => signs.map((sign) => sign.value).join("");

  const changed = () => {
    signs.forEach((sign, at) => sign.classList.toggle("typed", sign.value !== before[at]));
    const other = text() !== before.join("") || unit?.value !== unitBefore;
    if (amend) amend.hidden = !other;
  };

  signs.forEach((sign, at) => {
    sign.addEventListener("focus", () => sign.select());
    sign.addEventListener("input", () => {
      changed();
      if (sign.value.length === 1) signs[at + 1]?.focus();
    });
    sign.addEventListener("keydown", (event) => {
      if (event.key === "Enter") {
        event.preventDefault();
        if (amend && !amend.hidden) decide(figure, "amend", { value: text(), unit: unit?.value });
        else decide(figure, "take");
      } else if (event.key === "Escape") figure.focus();
      else if (event.key === "ArrowLeft" && sign.selectionEnd <= 1) signs[at - 1]?.focus();
      else if (event.key === "ArrowRight") signs[at + 1]?.focus();
      else if (event.key === "Backspace" && sign.value === "") signs[at - 1]?.focus();
    });
  });
  unit?.addEventListener("change", changed);

  for (const button of figure.querySelectorAll("[data-verb]")) {
    button.addEventListener("click", () => {
      const more = button.dataset.verb === "amend" ? { value: text(), unit: unit?.value } : {};
      decide(figure, button.dataset.verb, more);
    });
  }
  for (const other of figure.querySelectorAll(".other")) {
    other.addEventListener("click", () => decide(figure, "amend", { value: other.dataset.value, unit: unit?.value }));
  }
}

async function decide(figure, verb, more = {}) {
  const { id, version, fits, state } = figure.dataset;
  if (verb === "take" && (fits === "no" || state !== "waits")) {
    tell("Correct its signs, or choose a reading that is proposed.");
    return;
  }
  try {
    await ask(`${base}/decide`, { method: "POST", body: { id, verb, version: Number(version), ...more } });
    const at = all.indexOf(figure);
    const next = verb === "again" ? figure : (all[at + 1] ?? figure);
    history.replaceState(null, "", `#${next.id}`);
    location.reload();
  } catch (error) {
    tellTrouble(error);
  }
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.target.matches("input, select, textarea")) return;
  const figure = event.target.closest(".figure");
  const at = all.indexOf(figure);
  const key = event.key.toLowerCase();
  if (key === "j" || key === "k") {
    const to = all[key === "j" ? at + 1 : Math.max(at - 1, 0)];
    to?.focus();
    to?.scrollIntoView({ block: "start" });
  } else if (figure && key === "t") decide(figure, "take");
  else if (figure && key === "x") decide(figure, figure.dataset.state === "waits" ? "aside" : "again");
  else if (figure && key === "e") {
    event.preventDefault();
    figure.querySelector(".sign")?.focus();
  }
});

if (location.hash.startsWith("#figure-")) document.querySelector(location.hash)?.focus();

const reading = document.querySelector(".reading");
const button = reading.querySelector(".read");
const progress = reading.querySelector(".progress");

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
    location.reload();
  } catch (error) {
    button.disabled = false;
    tellTrouble(error);
  }
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
