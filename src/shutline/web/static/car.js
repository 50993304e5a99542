// The car's page: film, words, thread, Plan and findings, moved together by whichever of them is touched.

import { piece, tellTrouble, moment } from "/static/workbench.js";
import { openPlan } from "/static/car_plan.js";
import { openWords } from "/static/car_words.js";

const held = JSON.parse(document.getElementById("moving").textContent);
const media = document.querySelector(".media");
const list = document.querySelector(".found .list");
const heading = document.getElementById("found-heading");
const all = document.querySelector(".found .all");
const none = document.querySelector(".found .none");
const narrow = matchMedia("(max-width: 48rem)");
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const here = String(held.number);

/** One finding: its element, place, recording, start and end. */
const findings = [...list.querySelectorAll("details.one")].map((element) => {
  const [place, recording, start, end] = held.found[element.dataset.id];
  return { element, name: element.id, id: element.dataset.id, place, recording, start, end, number: element.id.slice(8) };
});
const byName = new Map(findings.map((finding) => [finding.name, finding]));
const spokenHere = findings.filter((finding) => finding.start !== null && String(finding.recording) === here);

let present = 0;
let chosen = null;
let part = null;
let frame = 0;

/** Keys of the Plan at which something was found, with the findings; those that may be there come after. */
const atKey = new Map();
for (const side of [0, 1]) {
  for (const finding of findings) {
    for (const key of held.places[finding.place][side]) {
      if (!atKey.has(key)) atKey.set(key, []);
      atKey.get(key).push(finding);
    }
  }
}

const words = document.querySelector(".words") && openWords(document.querySelector(".words"), held.words, {
  jump: (at) => jump(at),
  choose: (number, at) => choose(byName.get(`finding-${number}`), { at, show: true }),
  toggle: () => toggle(),
});

let plan = takePlan(document.querySelector(".plan"));

function takePlan(svg) {
  return openPlan(svg, {
    count: (key) => atKey.get(key)?.length ?? 0,
    choosePart: (key, name) => choosePart(key, name),
    choosePin: (number) => choose(byName.get(`finding-${number}`), { show: true }),
    jump: (at) => jump(at),
    calm,
  });
}

function jump(at, { play = false } = {}) {
  if (media) {
    media.currentTime = at;
    if (play) media.play().catch(() => {});
  }
  move(at, { jumped: true });
}

function toggle() {
  if (!media) return;
  if (media.paused) media.play().catch(() => {});
  else media.pause();
}

/** Show a moment on everything at once. */
function move(at, { jumped = false } = {}) {
  present = at;
  words?.show(at, { scroll: jumped || !(media?.paused ?? true) });
  const stays = [];
  held.visits.forEach(([start, end, place], index) => {
    if (start <= at && at < end) stays.push([index, place]);
  });
  const spoken = spokenHere.filter((finding) => finding.start <= at + 0.02 && at < finding.end);
  plan.show({
    at,
    keys: new Set(stays.flatMap(([, place]) => held.places[place][0])),
    strands: new Set(stays.map(([index]) => index)),
    pins: new Set(spoken.map((finding) => finding.number)),
  });
  for (const finding of findings) finding.element.classList.toggle("now", spoken.includes(finding));
  if (spoken.length && part === null && media && !media.paused) {
    if (chosen && !spoken.includes(chosen)) letGo();
    if (!chosen) bring(spoken[0].element);
  }
}

function follow() {
  move(media.currentTime);
  frame = media.paused ? 0 : requestAnimationFrame(follow);
}

/** Scroll the list, and nothing else, until an element of it can be seen. */
function bring(element, tries = 4) {
  const inside = list.scrollHeight > list.clientHeight + 1 && getComputedStyle(list).overflowY === "auto";
  if (!inside || !tries) return;
  const top = element.getBoundingClientRect().top - list.getBoundingClientRect().top;
  if (top > 0 && top + Math.min(element.offsetHeight, list.clientHeight - 20) <= list.clientHeight) return;
  const long = list.classList.contains("long");
  list.scrollTo({ top: list.scrollTop + top - 60, behavior: calm.matches || long ? "auto" : "smooth" });
  // In a long list heights are guesses until they are come to.
  if (long) requestAnimationFrame(() => bring(element, tries - 1));
}

/** Choose a finding: its words, its place and its moment. */
function choose(finding, { at = null, show = false } = {}) {
  if (!finding) return;
  if (part !== null && finding.element.closest("[hidden]")) wholeList();
  mark(finding);
  for (const other of findings) {
    if (other !== finding && other.element.open && part === null) other.element.open = false;
  }
  finding.element.open = true;
  history.replaceState(null, "", `#${finding.name}`);
  if (finding.start !== null && String(finding.recording) === here) jump(at ?? finding.start);
  words?.choose(finding.number);
  plan.choose(new Set(held.places[finding.place][0]), finding.number);
  if (show) requestAnimationFrame(() => bring(finding.element));
}

/** What was chosen is past: the list follows the film again. */
function letGo() {
  chosen.element.open = false;
  mark(null);
  words?.choose();
  plan.choose(new Set(), null);
}

function mark(finding) {
  chosen?.element.classList.remove("chosen");
  chosen = finding;
  chosen?.element.classList.add("chosen");
}

/** Choose a part of the Plan: show what was found there, and go to where it was spoken of. */
function choosePart(key, name) {
  const own = atKey.get(key) ?? [];
  part = key;
  mark(null);
  heading.textContent = name[0].toUpperCase() + name.slice(1);
  all.hidden = false;
  for (const finding of findings) {
    const there = own.includes(finding);
    finding.element.hidden = !there;
    finding.element.open = there;
  }
  let noted = 0;
  for (const box of list.querySelectorAll(".place")) {
    const [sure, maybe] = held.places[box.dataset.place] ?? [[], []];
    const note = sure.includes(key) || maybe.includes(key);
    noted += note;
    box.hidden = !note && !box.querySelector("details.one:not([hidden])");
  }
  for (const box of list.querySelectorAll(".group")) box.hidden = !box.querySelector(".place:not([hidden])");
  none.hidden = own.length + noted > 0;
  none.textContent = `Nobody has spoken of the ${name}, and nothing was seen, measured or written of it. That is no good news, and no bad: look at it, or ask.`;
  list.scrollTo({ top: 0 });
  plan.choose(new Set([key]), null);
  words?.choose(...own.map((finding) => finding.number));
  const first = own.filter((finding) => spokenHere.includes(finding)).sort((a, b) => a.start - b.start)[0];
  const stay = held.visits.find(([, , place]) => held.places[place][0].includes(key));
  if (first) jump(first.start);
  else if (stay) jump(stay[0]);
  // On a narrow screen the list lies below the Plan: go there, the film stays in sight. On a wide one just into sight.
  const behavior = calm.matches ? "auto" : "smooth";
  if (narrow.matches) document.querySelector(".found").scrollIntoView({ behavior });
  else if (heading.getBoundingClientRect().bottom > innerHeight - 160) heading.scrollIntoView({ behavior, block: "center" });
}

function wholeList() {
  part = null;
  heading.textContent = "What was found";
  all.hidden = true;
  none.hidden = true;
  for (const box of list.querySelectorAll(".place, .group, details.one")) box.hidden = false;
  for (const finding of findings) finding.element.open = false;
  mark(null);
  words?.choose();
  plan.choose(new Set(), null);
  history.replaceState(null, "", location.pathname + location.search);
}

all.addEventListener("click", () => {
  wholeList();
  heading.focus();
});
document.querySelector(".stage").addEventListener("keydown", (event) => {
  if (event.key === "Escape" && (part !== null || chosen)) {
    wholeList();
    move(present);
  }
});

list.addEventListener("click", (event) => {
  const still = event.target.closest("a[data-at]");
  if (still && media) {
    event.preventDefault();
    jump(Number(still.dataset.at));
    return;
  }
  const summary = event.target.closest("summary");
  if (!summary) return;
  event.preventDefault();
  const finding = byName.get(summary.parentElement.id);
  if (finding === chosen && finding.element.open) {
    finding.element.open = false;
    mark(null);
  } else {
    choose(finding, { show: true });
  }
});

if (media) {
  media.addEventListener("play", () => { if (!frame) frame = requestAnimationFrame(follow); });
  for (const name of ["pause", "seeked", "ended"]) media.addEventListener(name, () => move(media.currentTime));
  media.addEventListener("error", () => { document.querySelector(".cannot").hidden = false; });
  if (media.error) document.querySelector(".cannot").hidden = false;
}

// The Plan folds itself where the screen is narrow, and its crosses and its size are for whoever looks to choose.
const strip = document.querySelector(".plan");
let foldedPlan = null;
async function fit() {
  if (narrow.matches && !foldedPlan) {
    try {
      foldedPlan = (await piece(`${location.pathname}/plan-folded?recording=${here}`)).querySelector("svg");
    } catch (error) {
      tellTrouble(error);
      return;
    }
  }
  const wanted = narrow.matches ? foldedPlan : strip;
  const shown = document.querySelector(".plan");
  if (!wanted || shown === wanted) return;
  shown.replaceWith(wanted);
  plan = takePlan(wanted);
  if (part !== null) plan.choose(new Set([part]), null);
  else if (chosen) plan.choose(new Set(held.places[chosen.place][0]), chosen.number);
  plan.quiet(document.querySelector(".quiet").checked ? held.silent : []);
  move(present);
}
narrow.addEventListener("change", fit);
document.querySelector(".quiet").addEventListener("change", (event) => plan.quiet(event.target.checked ? held.silent : []));
document.querySelector(".closer").addEventListener("change", (event) => {
  document.querySelector(".stage").classList.toggle("closer-on", event.target.checked);
  plan.bare(event.target.checked);
  move(present, { jumped: true });
});

for (const at of document.querySelectorAll(".words p > .at")) at.title = `Go to ${at.textContent}`;
await fit();
move(0);
const asked = byName.get(decodeURIComponent(location.hash.slice(1)));
if (asked) choose(asked, { show: true });
addEventListener("hashchange", () => choose(byName.get(decodeURIComponent(location.hash.slice(1))), { show: true }));
document.documentElement.dataset.ready = moment(present);
