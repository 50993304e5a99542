// The car's page: film, words, thread, Plan and findings, moved together by whichever of them is touched.

import { ask, piece, tell, tellTrouble, moment } from "/static/workbench.js";
import { openPlan } from "/static/car_plan.js";
import { openWords } from "/static/car_words.js";

const held = JSON.parse(document.getElementById("moving").textContent);
const media = document.querySelector(".media");
const list = document.querySelector(".found .list");
const heading = document.getElementById("found-heading");
const all = document.querySelector(".found .all");
const none = document.querySelector(".found .none");
const narrow = matchMedia("(max-width: 48rem)");
const middle = matchMedia("(max-width: 74rem)");
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const here = String(held.number);
const address = location.pathname;

/** All findings in the order of their numbers, then those struck; `element` is null until its run is in the list. */
const findings = [
  ...held.found.map(([recording, start, end], index) => ({ name: `finding-${index + 1}`, number: String(index + 1), recording, start, end, place: null, element: null })),
  ...Object.entries(held.struck).map(([id, [recording, start, end]]) => ({ name: `finding-struck-${id}`, number: `struck-${id}`, id, recording, start, end, place: null, element: null })),
];
const byName = new Map(findings.map((finding) => [finding.name, finding]));
const spokenHere = findings.filter((finding) => finding.start !== null && String(finding.recording) === here);

let present = 0;
let chosen = null;
let part = null;
let partName = "";
let frame = 0;
let lit = [];

function adopt() {
  for (const element of list.querySelectorAll("details.one")) {
    const finding = byName.get(element.id);
    if (finding) finding.element = element;
  }
}
adopt();

/** The Plan, and where on it everything lies; nothing of either until it has come. */
const blank = { show() {}, choose() {}, quiet() {}, bare() {} };
let plan = blank;
let where = { places: [], visits: [], notes: [], silent_keys: [] };
/** Keys of the Plan at which something was found, with the findings; those that may be there come after. */
const atKey = new Map();

const words = document.querySelector(".words") && openWords(document.querySelector(".words"), {
  jump: (at) => jump(at),
  choose: (number, at) => choose(byName.get(`finding-${number}`), { at, show: true }),
  toggle: () => toggle(),
  load: (first) => piece(`${address}/words?recording=${here}&stretch=${first}`).catch((error) => {
    tellTrouble(error);
    throw error;
  }),
});

/** Give the keys of the Plan of a finding, and those it may be at. */
const keysOf = (finding) => where.places[finding?.place] ?? { keys: [], maybe: [] };

function know(plan_) {
  if (plan_.changed_at !== held.stamp) tellChanged();
  where = plan_;
  atKey.clear();
  findings.forEach((finding, index) => { finding.place = finding.id ? plan_.struck[finding.id] : plan_.found[index]; });
  for (const side of ["keys", "maybe"]) {
    for (const finding of findings) {
      for (const key of keysOf(finding)[side]) {
        if (!atKey.has(key)) atKey.set(key, []);
        atKey.get(key).push(finding);
      }
    }
  }
}

let changed = false;
function tellChanged() {
  if (!changed) tell("This car has been changed meanwhile. Load the page anew to see it as it is now.", { lasting: true });
  changed = true;
}

/** Put a run of the findings where it belongs in the list; several at once are fetched but once. */
const coming = new Map();
function fetchRun(rest) {
  const first = rest.dataset.first;
  if (!coming.has(first)) {
    coming.set(first, piece(`${address}/found?recording=${here}&first=${first}`).then((content) => {
      const run = content.firstElementChild;
      if (run.dataset.stamp !== held.stamp) tellChanged();
      const entered = rest.contains(document.activeElement);
      const groups = [...run.children];
      rest.replaceWith(...groups);
      adopt();
      joinGroups();
      if (part !== null) sift();
      if (entered) findings[Number(first) - 1].element?.querySelector("summary").focus();
      watchRests();
    }, (error) => {
      coming.delete(first);
      tellTrouble(error);
    }));
  }
  return coming.get(first);
}

/** Fetch what is needed of the findings before they can be shown. */
async function bringIn(wanted) {
  const missing = wanted.filter((finding) => !finding.element && !finding.id).map((finding) => Number(finding.number));
  if (!missing.length) return;
  const rests = [...list.querySelectorAll(".rest")].filter((rest) =>
    missing.some((number) => Number(rest.dataset.first) <= number && number <= Number(rest.dataset.last)));
  await Promise.all(rests.map(fetchRun));
}

/** A stretch of the walk, or a place of it, that was cut by the end of a run becomes one again. */
function joinGroups() {
  const title = (box) => box.querySelector("h3, h4").textContent;
  for (const group of [...list.querySelectorAll(".group")]) {
    const before = group.previousElementSibling;
    if (!before?.matches(".group") || title(before) !== title(group)) continue;
    const [last, first] = [before.lastElementChild, group.querySelector(".place")];
    if (last.matches(".place") && first && title(last) === title(first)) {
      last.lastElementChild.append(...first.lastElementChild.children);
      first.remove();
    }
    before.append(...group.querySelectorAll(":scope > .place"));
    group.remove();
  }
}

const watcher = new IntersectionObserver((seen) => {
  for (const { isIntersecting, target } of seen) if (isIntersecting && target.isConnected) fetchRun(target);
}, { rootMargin: "300px" });
function watchRests() {
  watcher.disconnect();
  for (const rest of list.querySelectorAll(".rest")) {
    rest.style.minHeight = `${3 * (rest.dataset.last - rest.dataset.first + 1)}rem`;
    watcher.observe(rest);
  }
}
list.addEventListener("click", (event) => {
  const rest = event.target.closest(".rest");
  if (!rest) return;
  event.preventDefault();
  fetchRun(rest);
});

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
  where.visits.forEach(([start, end, place], index) => {
    if (start <= at && at < end) stays.push([index, place]);
  });
  const spoken = spokenHere.filter((finding) => finding.start <= at + 0.02 && at < finding.end);
  plan.show({
    at,
    keys: new Set(stays.flatMap(([, place]) => where.places[place].keys)),
    strands: new Set(stays.map(([index]) => index)),
    pins: new Set(spoken.map((finding) => finding.number)),
  });
  for (const finding of lit) if (!spoken.includes(finding)) finding.element?.classList.remove("now");
  for (const finding of spoken) finding.element?.classList.add("now");
  lit = spoken;
  if (spoken.length && part === null && media && !media.paused) {
    if (chosen && !spoken.includes(chosen)) letGo();
    if (!chosen) bringIn([spoken[0]]).then(() => { if (spoken[0].element) bring(spoken[0].element); });
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
async function choose(finding, { at = null, show = false } = {}) {
  if (!finding) return;
  if (!finding.element) await bringIn([finding]);
  if (!finding.element) return;
  if (part !== null && finding.element.closest("[hidden]")) wholeList();
  mark(finding);
  if (part === null) for (const other of list.querySelectorAll("details.one[open]")) if (other !== finding.element) other.open = false;
  finding.element.open = true;
  history.replaceState(null, "", `#${finding.name}`);
  if (finding.start !== null && String(finding.recording) === here) jump(at ?? finding.start);
  words?.choose(finding.number);
  plan.choose(new Set(keysOf(finding).keys), finding.number);
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
async function choosePart(key, name) {
  const own = atKey.get(key) ?? [];
  part = key;
  partName = name;
  mark(null);
  heading.textContent = name[0].toUpperCase() + name.slice(1);
  all.hidden = false;
  sift();
  plan.choose(new Set([key]), null);
  words?.choose(...own.map((finding) => finding.number));
  const first = own.filter((finding) => spokenHere.includes(finding)).sort((a, b) => a.start - b.start)[0];
  const stay = where.visits.find(([, , place]) => where.places[place].keys.includes(key));
  if (first) jump(first.start);
  else if (stay) jump(stay[0]);
  await bringIn(own);
  if (part !== key) return;
  sift();
  list.scrollTo({ top: 0 });
  // On a narrow screen the list lies below the Plan: go there, the film stays in sight. On a wide one just into sight.
  const behavior = calm.matches ? "auto" : "smooth";
  if (narrow.matches) document.querySelector(".found").scrollIntoView({ behavior });
  else if (heading.getBoundingClientRect().bottom > innerHeight - 160) heading.scrollIntoView({ behavior, block: "center" });
}

/** Leave in the list what lies at the chosen part. */
function sift() {
  const own = atKey.get(part) ?? [];
  for (const finding of findings) {
    if (!finding.element) continue;
    const there = own.includes(finding);
    finding.element.hidden = !there;
    finding.element.open = there;
  }
  let noted = 0;
  for (const box of list.querySelectorAll(".place")) {
    const { keys, maybe } = where.places[where.notes[box.dataset.note]] ?? { keys: [], maybe: [] };
    const note = keys.includes(part) || maybe.includes(part);
    noted += note;
    box.hidden = !note && !box.querySelector("details.one:not([hidden])");
  }
  for (const box of list.querySelectorAll(".group")) box.hidden = !box.querySelector(".place:not([hidden])");
  for (const rest of list.querySelectorAll(".rest")) rest.hidden = true;
  none.hidden = own.length + noted > 0;
  none.textContent = `Nobody has spoken of the ${partName}, and nothing was seen, measured or written of it. That is no good news, and no bad: look at it, or ask.`;
}

function wholeList() {
  part = null;
  heading.textContent = "What was found";
  all.hidden = true;
  none.hidden = true;
  for (const box of list.querySelectorAll(".place, .group, .rest, details.one")) box.hidden = false;
  for (const open of list.querySelectorAll("details.one[open]")) open.open = false;
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

// The Plan folds itself where the screen is narrow, its thread reaches over the film where that stands beside it, and
// its crosses and its size are for whoever looks to choose.
const drawn = new Map();
const sheets = new Map();
const quietTick = document.querySelector(".quiet");
const closerTick = document.querySelector(".closer");

async function draw(form) {
  const laid = form === "folded" ? "folded" : "strip";
  if (!sheets.has(laid)) sheets.set(laid, piece(`/sheets/${laid}.svg?${document.querySelector(".unrolled").dataset.sheet}`));
  const [known, sheet] = await Promise.all([ask(`${address}/plan.json?recording=${here}&form=${form}`), sheets.get(laid)]);
  const holder = document.createElement("template");
  holder.innerHTML = known.figure;
  const svg = holder.content.querySelector("svg");
  svg.querySelector(".sheet-here").replaceWith(...sheet.querySelector("svg").cloneNode(true).childNodes);
  return { svg, known };
}

async function fit() {
  const form = narrow.matches ? "folded" : middle.matches ? "near" : "far";
  if (!drawn.has(form)) drawn.set(form, draw(form));
  let found;
  try {
    found = await drawn.get(form);
  } catch (error) {
    drawn.delete(form);
    sheets.clear();
    tellTrouble(error);
    return;
  }
  const shown = document.querySelector(".sheet > svg");
  if (shown === found.svg || form !== (narrow.matches ? "folded" : middle.matches ? "near" : "far")) return;
  know(found.known);
  shown.replaceWith(found.svg);
  if (!where.visits.length) document.querySelector(".room")?.remove();
  plan = openPlan(found.svg, {
    tell: (key) => {
      const found = atKey.get(key)?.length ?? 0;
      return found ? `${found} ${found === 1 ? "finding" : "findings"}` : "nothing said";
    },
    choosePart: (key, name) => choosePart(key, name),
    choosePin: (number) => choose(byName.get(`finding-${number}`), { show: true }),
    jump: (at) => jump(at),
    calm,
  });
  if (part !== null) plan.choose(new Set([part]), null);
  else if (chosen) plan.choose(new Set(keysOf(chosen).keys), chosen.number);
  plan.quiet(quietTick.checked ? where.silent_keys : []);
  plan.bare(closerTick.checked);
  move(present);
}
for (const width of [narrow, middle]) width.addEventListener("change", fit);
quietTick.addEventListener("change", () => plan.quiet(quietTick.checked ? where.silent_keys : []));
closerTick.addEventListener("change", () => {
  document.querySelector(".stage").classList.toggle("closer-on", closerTick.checked);
  plan.bare(closerTick.checked);
  move(present, { jumped: true });
});

watchRests();
await fit();
const asked = byName.get(decodeURIComponent(location.hash.slice(1)));
const at = Number(new URLSearchParams(location.search).get("at") ?? NaN);
if (asked) await choose(asked, { show: true });
else if (at >= 0) jump(at);
else move(0);
addEventListener("hashchange", () => choose(byName.get(decodeURIComponent(location.hash.slice(1))), { show: true }));
document.documentElement.dataset.ready = moment(present);
