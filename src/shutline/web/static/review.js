// The review: one thing after the other, by keys or buttons; every change says which version it was made to.

import { ask, piece, Refused, tell, tellTrouble, moment } from "/static/workbench.js";
import { Film } from "/static/review_film.js";
import { Form } from "/static/review_form.js";
import { chooseKeys, keyOf, readKeys, writeKeys } from "/static/review_keys.js";
import { showBoth } from "/static/review_both.js";
import { leftWords, Turns, typeInto } from "/static/review_turns.js";
import { ringable } from "/static/rings.js";

const root = document.querySelector(".review");
const { car, order } = root.dataset;
const base = `/cars/${car}/review`;
const place = root.querySelector(".entry-place");
const last = document.querySelector(".last");
const both = root.querySelector(".both");
const choosing = root.querySelector(".choosing");
const film = new Film(root, car);
const form = new Form(root.querySelector("form.amend"));
const DONE = { confirm: "stands", strike: "struck" };
const turns = new Turns((error, left) => {
  tell(`${saidOf(error)}${leftWords(left)}`, { lasting: true });
  place.hidden = form.opened;
});
/** Do one thing after the other. */
const run = (deed) => turns.run(deed);

// While a change is being written, or two versions lie side by side, nothing else is decided.
const mode = () => {
  document.body.dataset.at = form.opened ? "form" : !both.hidden ? "both" : choosing.hidden ? "" : "still";
};
for (const part of [form.form, both, choosing]) new MutationObserver(mode).observe(part, { attributes: true, attributeFilter: ["hidden"] });

let keys = readKeys();
let present = null;
let fetched = new Map();

// The list --------------------------------------------------------------------------------------------------------

const lines = () => [...document.querySelectorAll(".galley li")];
const lineOf = (id) => lines().find((one) => one.dataset.id === id);
const isOpen = (line) => line.dataset.state === "heard";

function neighbour(id, step, { open = false } = {}) {
  const all = lines();
  const from = all.findIndex((one) => one.dataset.id === id);
  for (let at = from + step; at >= 0 && at < all.length; at += step) if (!open || isOpen(all[at])) return all[at].dataset.id;
  return null;
}

/** Give the next one that nobody has decided about, after this one or else from the start. */
const nextOpen = (id) => neighbour(id, 1, { open: true }) ?? lines().find((one) => isOpen(one) && one.dataset.id !== id)?.dataset.id ?? null;

function address(id, kind = "") {
  const asked = new URLSearchParams();
  if (order !== "doubt") asked.set("order", order);
  if (kind) asked.set(kind, "");
  const query = asked.toString();
  return `${base}/${encodeURIComponent(id)}${query ? `?${query}` : ""}`;
}

function writeLine(entry) {
  const line = lineOf(entry.id);
  if (!line) return;
  line.dataset.state = entry.state;
  line.querySelector(".line").textContent = entry.line;
  line.querySelector(".mark").textContent = entry.open ? (entry.odds ? "at odds" : "") : entry.state;
  document.querySelector(`.tick[data-id="${CSS.escape(entry.id)}"]`)?.classList.toggle("done", !entry.open);
  count();
}

function count() {
  const left = lines().filter(isOpen);
  const of = (kind) => left.filter((one) => one.dataset.kind === kind).length;
  const words = leftOf(of("finding"), of("fact"), of("question"));
  for (const told of document.querySelectorAll(".left")) told.textContent = left.length;
  for (const told of document.querySelectorAll(".left-words")) told.textContent = words;
}

/** Say what is left as the server says it: findings and facts, and what a second reading asks. */
function leftOf(findings, facts, questions) {
  const some = (number, name) => (number ? `${number} ${name}${number === 1 ? "" : "s"}` : "");
  const words = [some(findings, "finding"), some(facts, "fact")].filter(Boolean).join(" and ");
  const asked = questions ? `${some(questions, "question")} of a second reading` : "";
  return [words, asked].filter(Boolean).join(", and ") || "nothing";
}

function addLine(entry, after) {
  const line = document.createElement("li");
  line.dataset.id = entry.id;
  line.dataset.kind = "finding";
  line.innerHTML = '<a><span class="at"></span> <span class="line"></span></a> <span class="mark"></span>';
  line.querySelector("a").href = address(entry.id);
  line.querySelector(".at").textContent = entry.moment ? moment(entry.moment[1]) : "";
  const before = after ? lineOf(after) : null;
  if (before) before.after(line);
  else document.querySelector(".galley ol").append(line);
  writeLine(entry);
}

// One thing at a time ----------------------------------------------------------------------------------------------

function fetchPiece(id) {
  if (!fetched.has(id)) {
    const coming = piece(address(id, "piece"));
    coming.catch(() => fetched.delete(id));
    fetched.set(id, coming);
  }
  return fetched.get(id);
}

function take(article) {
  present = article ? { ...JSON.parse(article.dataset.entry), article } : null;
  if (!present) return;
  writeKeys(article, keys);
  for (const figure of article.querySelectorAll(".ringed")) ringable(figure, (circle) => keepRing(figure, circle));
  writeLine(present);
  for (const link of document.querySelectorAll(".galley [aria-current]")) link.removeAttribute("aria-current");
  lineOf(present.id)?.querySelector("a").setAttribute("aria-current", "true");
  for (const tick of document.querySelectorAll(".tick.here")) tick.classList.remove("here");
  document.querySelector(`.tick[data-id="${CSS.escape(present.id)}"]`)?.classList.add("here");
  const after = neighbour(present.id, 1, { open: true });
  if (after) fetchPiece(after).catch(() => {});
}

async function keepRing(figure, circle) {
  const { finding, picture, version } = figure.dataset;
  try {
    const { ring } = await ask(`/cars/${car}/preparation/cards/ring`, { method: "POST", body: { finding, picture, version: Number(version), ...circle } });
    figure.dataset.version = ring.version;
    fetched.delete(finding);
    return true;
  } catch (error) {
    tellTrouble(error);
    return false;
  }
}

async function go(id, { focus = true, play = true, reread = false } = {}) {
  if (id === null) return finished();
  endChoosing();
  form.close();
  if (reread) fetched.delete(id);
  let fragment;
  try {
    fragment = (await fetchPiece(id)).cloneNode(true);
  } catch (error) {
    fetched.delete(id);
    if (error instanceof Refused && error.code === 404) {
      lineOf(id)?.remove();
      tell("That was decided meanwhile, and is not there any more.");
      count();
      return undefined;
    }
    throw error;
  }
  place.replaceChildren(fragment);
  take(place.querySelector(".entry"));
  history.replaceState(null, "", address(id));
  film.load(present.moment, { play });
  if (focus) place.querySelector(".statement").focus({ preventScroll: true });
  return undefined;
}

function finished() {
  film.hold();
  present = null;
  const done = document.querySelector("template.done").content.cloneNode(true);
  place.replaceChildren(done);
  history.replaceState(null, "", base);
  place.querySelector(".statement").focus();
}

// Changes ----------------------------------------------------------------------------------------------------------

/** Send a change; where it comes too late, show both versions and let the person choose. Gives null where it is left. */
async function change(path, body, again) {
  try {
    return await ask(`${base}/${path}`, { method: "POST", body });
  } catch (error) {
    if (!(error instanceof Refused) || error.code !== 409 || !error.answer?.present) throw error;
    film.hold();
    const left = turns.letGo();
    if (left) tell(`Somebody was quicker.${leftWords(left)}`);
    place.hidden = true;
    const hidden = form.opened;
    form.form.hidden = true;
    const mine = await showBoth(both, error.answer);
    place.hidden = false;
    if (mine) return change(path, again(body, error.answer.present), again);
    fetched.clear();
    if (hidden) form.close();
    return null;
  }
}

const withVersion = (body, kept) => ({
  decisions: body.decisions.map((one) => (one.id === kept.id ? { ...one, version: kept.version } : one)),
});

/** A question that was decided is a finding now, and has the finding's id. */
function renamed(entry, answer) {
  if (entry.kind !== "question" || !answer.findings.length) return entry.id;
  const id = answer.findings[0].id;
  const line = lineOf(entry.id);
  if (line) {
    line.dataset.id = id;
    line.dataset.kind = "finding";
    line.querySelector("a").href = address(id);
  }
  document.querySelector(`.tick[data-id="${CSS.escape(entry.id)}"]`)?.setAttribute("data-id", id);
  return id;
}

function stateOf(entry, answer) {
  const kept = [...answer.findings.map((one) => one.finding), ...answer.facts.map((one) => one.fact)];
  const states = kept.map((one) => one.state);
  if (states.includes("heard")) return "heard";
  return states.includes("stands") ? "stands" : "struck";
}

/** Do decisions about what is shown, and go on to the next. */
async function decideNow(decisions, word) {
  const entry = present;
  const answer = await change("decide", { decisions }, withVersion);
  if (answer === null) return go(entry.id, { reread: true });
  const id = renamed(entry, answer);
  fetched.delete(entry.id);
  fetched.delete(id);
  const state = stateOf(entry, answer);
  writeLine({ ...entry, id, state, open: state === "heard", odds: false });
  last.textContent = `${entry.line.replace(/\?$/, "")}: ${word}.`;
  return go(nextOpen(id));
}

async function decide(verb) {
  if (!present) return undefined;
  const wanted = { confirm: "stands", strike: "struck" }[verb];
  let refs = present.refs.filter((one) => one.state === "heard");
  if (!refs.length) refs = present.refs.filter((one) => one.state !== wanted);
  if (!refs.length) return go(nextOpen(present.id));
  return decideNow(refs.map(({ id, version }) => ({ id, version, decision: verb })), DONE[verb]);
}

/** Of values at odds, let one stand and strike the others; those that say the same stand with it. */
async function chooseValue(id) {
  const chosen = present.refs.find((one) => one.id === id);
  if (!chosen) return undefined;
  const decisions = present.refs
    .map((one) => ({ one, wanted: one.value === chosen.value ? "stands" : "struck" }))
    .filter(({ one, wanted }) => one.state !== wanted)
    .map(({ one, wanted }) => ({ id: one.id, version: one.version, decision: wanted === "stands" ? "confirm" : "strike" }));
  return decideNow(decisions, `${chosen.value} stands, the others are struck`);
}

async function takeInstead(id) {
  const own = present?.refs[0];
  if (!own || !id) return undefined;
  return decideNow([
    { id, version: null, decision: "confirm" },
    { id: own.id, version: own.version, decision: "strike" },
  ], "struck, the other reading stands").then(() => reloadList());
}

/** Take back what this person decided last on the car, today or on an earlier day. */
async function undo() {
  let answer = null;
  try {
    answer = await ask(`${base}/undo-last`, { method: "POST", body: {} });
  } catch (error) {
    if (!(error instanceof Refused) || error.problem?.slug !== "nothing-of-yours") throw error;
    const { found, advice } = error.problem;
    tell(`${found[0].toUpperCase()}${found.slice(1)}. ${advice}${leftWords(turns.letGo())}`, { lasting: true });
    return;
  }
  await takenBack(answer);
}

/** Take back the last decision about what is shown, whoever made it. */
async function undoThis() {
  const refs = present.refs.filter((one) => one.version > 1);
  const answer = await change("decide", { decisions: refs.map(({ id, version }) => ({ id, version, decision: "undo" })) }, withVersion);
  if (answer === null) await go(present.id, { reread: true });
  else await takenBack(answer);
}

async function takenBack(answer) {
  fetched.clear();
  const findings = [...answer.findings].sort((one, other) => (other.finding.state === "heard") - (one.finding.state === "heard"));
  const id = findings[0]?.id ?? answer.facts[0]?.fact.name;
  const many = answer.findings.length + answer.facts.length;
  if (!lineOf(id)) await reloadList();
  await go(id);
  if (many > 1) await reloadList();
  if (present) last.textContent = `${present.line}: the last change is taken back${many > 1 ? `, with ${many - 1} more decided together with it` : ""}.`;
}

function saidOf(error) {
  if (error instanceof Refused && error.problem) {
    const { where, found, allowed, advice } = error.problem;
    return `${where[0].toUpperCase()}${where.slice(1)}: ${found}; ${allowed}. ${advice}`;
  }
  return "The workbench does not answer. Is it still running?";
}

function amend(ref = present?.refs.find((one) => one.state !== "struck") ?? present?.refs[0]) {
  if (!ref) return;
  const entry = present;
  film.hold();
  place.hidden = true;
  const back = () => {
    place.hidden = false;
    place.querySelector(".statement")?.focus();
  };
  form.amend(ref, `‘${entry.line.replace(/\?$/, "")}’`, {
    leave: back,
    keep: (fields) => run(async () => {
      place.hidden = false;
      if (!Object.keys(fields).length) {
        if (entry.open) await decide("confirm");
        else back();
        return "";
      }
      try {
        const again = (body, kept) => ({ ...body, version: kept.version });
        const answer = await change("amend", { id: ref.id, version: ref.version, fields }, again);
        if (answer === null) {
          await go(entry.id, { reread: true });
          return "";
        }
        const id = renamed(entry, answer);
        fetched.clear();
        await go(id, { focus: false, play: false });
        last.textContent = `${present.line}: amended, and stands.`;
        const after = present.open ? id : nextOpen(id);
        await go(after);
        return "";
      } catch (error) {
        place.hidden = true;
        return `${saidOf(error)}${leftWords(turns.letGo())}`;
      }
    }),
  });
}

function missed() {
  if (film.recording === null) {
    tell("There is no film here to show the moment of it.");
    return;
  }
  film.hold();
  const at = film.at;
  const recording = film.recording;
  const token = crypto.randomUUID?.() ?? [...crypto.getRandomValues(new Uint32Array(4))].join("-");
  const from = present?.id ?? null;
  place.hidden = true;
  const asked = new URLSearchParams({ recording, at_s: at.toFixed(3) });
  ask(`${base}/words.json?${asked}`).then((said) => form.offerWords(said.text ? `Said there: ${said.text}` : ""), () => {});
  form.enter(`Add what was missed, at ${moment(at)}`, {
    leave: () => {
      place.hidden = false;
      place.querySelector(".statement")?.focus();
    },
    keep: (fields) => run(async () => {
      try {
        const answer = await ask(`${base}/enter`, { method: "POST", body: { recording, at_s: at, fields, token } });
        const [kept] = answer.findings;
        place.hidden = false;
        addLine({ id: kept.id, state: "stands", open: false, odds: false, line: "", moment: [recording, at, at] }, from);
        await go(kept.id, { reread: true, play: false });
        last.textContent = `${present.line}: entered by you, and stands.`;
        return "";
      } catch (error) {
        return `${saidOf(error)}${leftWords(turns.letGo())}`;
      }
    }),
  });
}

// Another still ----------------------------------------------------------------------------------------------------

function chooseStill() {
  const ref = present?.refs[0];
  if (!choosing.hidden) return takeStill();
  if (!ref || present.kind !== "finding" || !film.hasPicture) {
    tell(film.hasPicture ? "Only a finding has a still." : "There is no film to take it from.");
    return undefined;
  }
  film.hold();
  choosing.hidden = false;
  film.range.focus();
  return undefined;
}

function endChoosing() {
  choosing.hidden = true;
}

async function takeStill() {
  const entry = present;
  const ref = entry.refs[0];
  film.hold();
  const body = { id: ref.id, version: ref.version, recording: film.recording, at_s: Number(film.at.toFixed(4)) };
  const answer = await change("still", body, (sent, kept) => ({ ...sent, version: kept.version }));
  endChoosing();
  await go(entry.id, { reread: true, play: false });
  if (answer !== null) last.textContent = `${entry.line}: another still is chosen.`;
}

// What is not asked for by the person -----------------------------------------------------------------------------

async function reloadList() {
  const page = await piece(`${base}${order === "doubt" ? "" : `?order=${order}`}`);
  const list = page.querySelector(".galley ol");
  if (list) document.querySelector(".galley ol").replaceChildren(...list.children);
  count();
  if (present) lineOf(present.id)?.querySelector("a").setAttribute("aria-current", "true");
}

/** Somebody else may have been at it while this window was out of sight. */
async function lookAgain() {
  if (document.visibilityState !== "visible" || turns.busy || !both.hidden) return;
  fetched.clear();
  await reloadList();
  if (!present || form.opened || !choosing.hidden) return;
  const fresh = (await fetchPiece(present.id)).querySelector(".entry");
  const before = JSON.stringify(present.refs.map((one) => one.version));
  if (JSON.stringify(JSON.parse(fresh.dataset.entry).refs.map((one) => one.version)) !== before) await go(present.id, { focus: false, play: false });
}

// Keys and buttons -------------------------------------------------------------------------------------------------

const deeds = {
  stands: () => decide("confirm"),
  strike: () => decide("strike"),
  amend: () => amend(),
  next: () => step(1),
  back: () => step(-1),
  undo,
  play: () => film.toggle(),
  slower: () => tell(film.slower()),
  still: chooseStill,
  missed,
  instead: () => takeInstead(present?.otherwise[0]),
  history: () => {
    const part = place.querySelector("details.history");
    if (part) part.open = !part.open;
    if (part?.open) part.scrollIntoView({ block: "nearest" });
  },
  keys: () => chooseKeys(document.querySelector("dialog.key-choice"), keys, (choice, kept) => {
    keys = choice;
    writeKeys(document, keys);
    tell(kept ? "The keys are kept in this browser." : "This browser keeps nothing: the keys hold until the page is left.");
  }),
};

function step(by) {
  const id = present ? neighbour(present.id, by) : (by < 0 ? lines().at(-1) : lines()[0])?.dataset.id ?? null;
  if (id === null) {
    tell(by > 0 ? "That is the last one." : "That is the first one.");
    return undefined;
  }
  return go(id);
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  const link = event.target.closest(".galley li a");
  if (link && !event.ctrlKey && !event.metaKey && !event.shiftKey && event.button === 0) {
    event.preventDefault();
    run(() => go(link.closest("li").dataset.id));
    document.querySelector(".review").scrollIntoView({ block: "start" });
  } else if (button?.dataset.do) {
    if ((form.opened || !both.hidden) && !["play", "slower"].includes(button.dataset.do)) tell("First keep the change, or leave it.");
    else run(deeds[button.dataset.do]);
  } else if (button?.dataset.choose) {
    run(() => chooseValue(button.dataset.choose));
  } else if (button?.dataset.there) {
    film.load(JSON.parse(button.dataset.there));
  } else if (button?.dataset.take) {
    run(() => takeInstead(button.dataset.take));
  } else if (button && "undoThis" in button.dataset) {
    run(undoThis);
  }
});

choosing.querySelector(".take").addEventListener("click", () => run(takeStill));
choosing.querySelector(".leave").addEventListener("click", () => {
  endChoosing();
  place.querySelector(".statement")?.focus();
});

/** Do what a key stands for, in what is there when its turn has come. */
function pressed(key, typed) {
  if (form.opened) return typeInto(form.form, typed);
  if (!choosing.hidden && typed === "Enter") return takeStill();
  if (!choosing.hidden && typed === "Escape") return choosing.querySelector(".leave").click();
  if (/^[1-9]$/.test(key) && present?.odds) {
    const button = place.querySelectorAll("[data-choose]")[Number(key) - 1];
    return button ? chooseValue(button.dataset.choose) : undefined;
  }
  const deed = Object.keys(keys.keys).find((one) => keys.keys[one] === key);
  return deed ? deeds[deed]() : undefined;
}

document.addEventListener("keydown", (event) => {
  if (event.defaultPrevented || !(event.isTrusted || event.early) || event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
  if (document.querySelector("dialog[open]") || !both.hidden) return;
  const key = keyOf(event);
  // Space and Enter press the button that has the focus, and arrows move along the film where that has it.
  if (!form.opened && (key === " " || key === "Enter") && event.target.closest("button, a, summary")) return;
  if (!form.opened && event.key === "Tab" && !turns.waiting.length) return;
  // What is pressed while another is on its way waits; where a form will have opened by then, it is typed there.
  if (turns.busy && !keys.off && !["Shift", "CapsLock", "Dead", "AltGraph"].includes(event.key)) {
    event.preventDefault();
    if (!event.repeat) run(() => pressed(key, event.key));
    return;
  }
  if (!choosing.hidden && (event.key === "Escape" || (event.key === "Enter" && event.target === film.range))) {
    event.preventDefault();
    run(() => pressed(key, event.key));
    return;
  }
  if (form.opened || event.target.closest("input:not([type=range]), textarea, select, dialog")) return;
  if (keys.off) return;
  if (event.target === film.range && /^(Arrow|Home|End|Page)/.test(key)) return;
  const figure = /^[1-9]$/.test(key) && present?.odds && place.querySelectorAll("[data-choose]")[Number(key) - 1];
  const deed = Object.keys(keys.keys).find((one) => keys.keys[one] === key);
  if (!figure && !deed) return;
  event.preventDefault();
  // A key held down is pressed once; only going through the list may run on.
  if (event.repeat && deed !== "next" && deed !== "back") return;
  run(() => pressed(key, event.key));
});

document.addEventListener("visibilitychange", () => { lookAgain().catch(() => {}); });

writeKeys(document, keys);
take(place.querySelector(".entry"));
film.load(present?.moment ?? null);
root.dataset.ready = "yes";
