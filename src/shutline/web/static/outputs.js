// Has outputs made, shows how far they are, and goes on to look at what was asked for.

import { Refused, ask, tellTrouble } from "/static/workbench.js";

const NAMES = { html: "the page", pdf: "the paper", json: "the car file", captions: "captions", description: "the description", chapters: "chapters" };
const EVERY_MS = 200;

const place = document.querySelector(".making");
const shown = place.querySelector(".progress");
const bar = shown.querySelector("progress");
const words = shown.querySelector("span");
const refused = place.querySelector(".refused");
const turns = document.querySelectorAll("button[data-only]");

const pause = (ms) => new Promise((done) => { setTimeout(done, ms); });

async function make(only, then) {
  refused.hidden = true;
  for (const button of turns) button.disabled = true;
  try {
    let now = await ask(place.dataset.make, { method: "POST", body: only ? { only: [only] } : {} });
    now = await follow(now);
    if (now.making?.problem) throw new Refused(500, { error: now.making.problem });
    const wanted = only && now.made.outputs.find((output) => output.what === only);
    // Another page was making something else: what is wanted here comes after it.
    if (wanted && !wanted.fresh && !now.making.only.includes(only)) {
      await make(only, then);
      return;
    }
    location.assign(then);
    if (new URL(then, location.href).pathname + new URL(then, location.href).search === location.pathname + location.search) location.reload();
  } catch (error) {
    shown.hidden = true;
    for (const button of turns) button.disabled = false;
    if (!(error instanceof Refused) || !error.problem) {
      tellTrouble(error);
      return;
    }
    const { where, found, allowed, advice } = error.problem;
    refused.textContent = `${where}: ${found}; ${allowed}. ${advice}`;
    refused.hidden = false;
  }
}

async function follow(now) {
  shown.hidden = false;
  for (let latest = now; ; latest = await ask(place.dataset.now)) {
    const { making } = latest;
    if (!making || making.ended) return latest;
    bar.max = making.only.length;
    bar.value = making.done;
    const said = `Making ${NAMES[making.at] ?? "ready"}`;
    if (words.textContent !== said) words.textContent = said;
    await pause(EVERY_MS);
  }
}

for (const button of turns) {
  button.addEventListener("click", () => make(button.dataset.only, location.pathname + location.search));
}

for (const link of document.querySelectorAll("a[data-only]:not([data-fresh])")) {
  link.addEventListener("click", (event) => {
    event.preventDefault();
    make(link.dataset.only, link.getAttribute("href"));
  });
}

if ("going" in place.dataset) {
  for (const button of turns) button.disabled = true;
  follow(await ask(place.dataset.now)).then(() => location.reload(), tellTrouble);
}
