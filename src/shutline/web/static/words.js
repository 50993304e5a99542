// Words: the text is checked while it is typed, its claims are marked in it and listed beside it; questions are answered.
import { keep } from "/static/words_kept.js";
import { ask, moment, piece, tell, tellTrouble } from "/static/workbench.js";

const text = document.getElementById("text");
const under = document.getElementById("under");
const claims = document.getElementById("claims");
const tally = document.getElementById("tally");
const WAIT_MS = 250;
let waiting = 0;
let asked = 0;
let checking = null;

function element(name, { words = "", kind = "", ...more } = {}) {
  const made = document.createElement(name);
  if (words) made.textContent = words;
  if (kind) made.className = kind;
  Object.assign(made, more);
  return made;
}

const capital = (words) => words.slice(0, 1).toUpperCase() + words.slice(1);

/** Set one thing that a claim or an answer stands on, with a way to its moment. */
function stand(one) {
  const line = element("li");
  if (one.still) line.append(element("img", { src: `/small/${one.still}`, alt: "", loading: "lazy" }));
  const said = element("span", { words: capital(one.words) });
  if (one.quote) said.append(" ", element("q", { words: one.quote }));
  said.append(" ", element("span", { kind: "soft", words: one.kind + (one.heard ? ", not confirmed" : "") }));
  if (one.start_s !== null && one.link) {
    const way = element("a", { words: `at ${moment(one.start_s)}`, href: one.link });
    way.append(element("span", { kind: "hidden", words: ` in the film: ${one.words}` }));
    said.append(" ", way);
  }
  line.append(said);
  return line;
}

function listed(stands) {
  const list = element("ul");
  list.append(...stands.map(stand));
  return list;
}

/** Set one claim; its quote selects the words in the text. The places of its letters count whole characters. */
function claimed(one, places) {
  const line = element("li", { kind: "claim" });
  line.dataset.verdict = one.verdict;
  const quote = element("p", { kind: "quote" });
  const chosen = element("button", { type: "button", words: one.quote });
  chosen.addEventListener("click", () => {
    text.focus();
    text.setSelectionRange(places[one.first], places[one.end]);
  });
  quote.append(element("span", { kind: "verdict", words: one.verdict }), " ", chosen);
  line.append(quote, element("p", { kind: "why", words: one.read_as ? `Read as ${one.read_as}. ${one.why}` : one.why }));
  if (one.stands_on.length) line.append(listed(one.stands_on));
  return line;
}

/** Give for each character the place it has in a text of this browser, which counts some characters twice. */
function placesOf(words) {
  const places = [];
  let at = 0;
  for (const letter of words) {
    places.push(at);
    at += letter.length;
  }
  places.push(at);
  return places;
}

function marked(words, checked, places) {
  const pieces = [];
  let at = 0;
  for (const one of checked.claims) {
    const first = Math.max(at, places[one.first]);
    const end = places[one.end];
    if (first >= end) continue;
    pieces.push(words.slice(at, first));
    const mark = element("mark", { words: words.slice(first, end) });
    mark.dataset.verdict = one.verdict;
    pieces.push(mark);
    at = end;
  }
  under.replaceChildren(...pieces, `${words.slice(at)}\n`);
  under.scrollTop = text.scrollTop;
}

async function check() {
  const words = text.value;
  const mine = ++asked;
  checking?.abort();
  checking = new AbortController();
  if (!words.trim()) {
    claims.replaceChildren();
    under.replaceChildren();
    tally.textContent = "Nothing is checked yet.";
    return;
  }
  try {
    const checked = await ask(text.dataset.check, { method: "POST", body: { text: words }, signal: checking.signal });
    if (mine !== asked) return;
    const places = placesOf(words);
    const held = document.activeElement?.closest?.(".claim");
    const number = held ? [...claims.children].indexOf(held) : -1;
    claims.replaceChildren(...checked.claims.map((one) => claimed(one, places)));
    claims.children[number]?.querySelector("button")?.focus();
    marked(words, checked, places);
    tally.textContent = `${checked.backed} backed, ${checked.at_odds} at odds, ${checked.unbacked} unbacked`;
  } catch (error) {
    if (error.name === "AbortError") return;
    if (error.problem?.slug === "text-too-long" && mine === asked) tellTooLong(error.problem);
    else tellTrouble(error);
  }
}

/** Tell beside the text how long it is and how long it may be; it stays in its box. */
function tellTooLong({ where, found, allowed, advice }) {
  claims.replaceChildren();
  under.replaceChildren();
  tally.textContent = `Not checked. ${capital(where)}: ${found}; ${allowed}. ${advice}`;
}

text.addEventListener("input", () => {
  // Marks of the text as it was would lie under other words.
  under.replaceChildren();
  clearTimeout(waiting);
  waiting = setTimeout(check, WAIT_MS);
});
text.addEventListener("scroll", () => { under.scrollTop = text.scrollTop; });
document.getElementById("writing").addEventListener("submit", (event) => {
  event.preventDefault();
  clearTimeout(waiting);
  check();
});

const asking = document.getElementById("asking");
const reply = document.getElementById("reply");

/** Show the answers to all that was asked in one. */
function replied(first) {
  const all = [first, ...first.more];
  reply.replaceChildren(...all.map((one) => answered(one, all.length > 1)));
  // The focus stays in the box, for the next question.
  reply.scrollIntoView({ block: "nearest" });
  if (all.some((one) => one.kept)) listAnew().catch(tellTrouble);
}

function answered(one, several) {
  const made = element("div", { kind: "reply" });
  if (several) made.append(element("p", { kind: "soft small", words: one.question }));
  made.append(element("p", { kind: "answer", words: one.reply }));
  const deeds = element("p", { kind: "deeds" });
  const copy = element("button", { type: "button", words: "Copy the reply" });
  copy.addEventListener("click", () => copied(one.reply));
  deeds.append(copy);
  const given = one.ways.filter((each) => each.shared);
  const ways = given.length ? given : one.ways;
  if (ways.length) {
    const both = element("button", { type: "button", words: "Copy it with the way into the film" });
    const lines = ways.map((each) => `${each.words}: ${new URL(each.shared || each.own, location.href).href}`);
    both.addEventListener("click", () => copied([one.reply, "", ...lines].join("\n")));
    deeds.append(both);
  }
  made.append(deeds);
  if (ways.length) made.append(element("p", { kind: "soft small", words: given.length ? LEADS.shared : LEADS.own }));
  if (one.read_as) made.append(element("p", { kind: "soft small", words: `Read as: ${one.read_as}` }));
  const stands = [...one.stands_on, ...one.beside];
  if (stands.length) made.append(listed(stands));
  if (one.heard) {
    const note = element("p", { kind: "soft small", words: "It stands on what was heard and nobody has confirmed yet. " });
    note.append(element("a", { href: `/cars/${one.car}/review`, words: "Review it" }), " before you send it.");
    made.append(note);
  }
  if (one.kept && one.open) made.append(element("p", { kind: "soft small", words: keptWords(one) }));
  return made;
}

const LEADS = {
  shared: "The way leads to that moment on the buyer’s page, by its open link.",
  own: "The way leads into this workbench. For a stranger, make a link under For the buyer, and ask again.",
};

const keptWords = (one) => one.checks.length
  ? "Kept among the questions without an answer, and asked for on the second route."
  : "Kept among the questions without an answer.";

async function copied(words) {
  try {
    await navigator.clipboard.writeText(words);
    tell("Copied.");
  } catch {
    tell("The browser does not let it be copied: select it and copy it by hand.");
  }
}

const lists = document.getElementById("lists");

/** Show the lists of what was asked as they are now; what was folded or open stays so. */
async function listAnew() {
  const open = new Map([...lists.querySelectorAll("details")].map((each) => [each.id, each.open]));
  const fresh = await piece(lists.dataset.lists);
  for (const each of fresh.querySelectorAll("details")) each.open = open.get(each.id) ?? each.open;
  lists.replaceChildren(fresh);
}

const DEEDS = {
  "put-on": { address: "on-page", shown: true },
  "take-off": { address: "on-page", shown: false },
  drop: { address: "drop" },
};

/** Tell where a question is once it has been put on the page or taken off. */
function placed(id, deed) {
  if (deed === "drop") return "It is off the list.";
  if (deed === "take-off") return "It is off the page, and stays on the list.";
  const state = document.querySelector(`#q-${id} strong`)?.textContent ?? "";
  return state.startsWith("To be") ? "It is on the page once what its answer stands on is confirmed." : "It is on the page.";
}

lists.addEventListener("submit", async (event) => {
  const { name, value } = event.submitter ?? {};
  if (!DEEDS[name]) return;
  event.preventDefault();
  const { address, ...more } = DEEDS[name];
  const line = event.target.closest("li");
  const next = (line.nextElementSibling ?? line.previousElementSibling)?.id;
  const fold = line.closest("details").id;
  try {
    await ask(asking.dataset.ask.replace(/ask$/, address), { method: "POST", body: { question: value, ...more } });
    await listAnew();
    const beside = next && document.querySelector(`#${next} button`);
    (beside || document.querySelector(`#${fold} summary`) || document.getElementById("asked")).focus({ preventScroll: true });
    tell(placed(value, name));
  } catch (error) {
    tellTrouble(error);
  }
});

asking.addEventListener("submit", async (event) => {
  event.preventDefault();
  const question = document.getElementById("question");
  try {
    replied(await ask(asking.dataset.ask, { method: "POST", body: { question: question.value } }));
  } catch (error) {
    tellTrouble(error);
  }
});

keep(text);
keep(document.getElementById("rewrite"));
if (text.value.trim()) check();
