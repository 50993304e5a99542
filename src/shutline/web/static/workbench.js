// What all pages share: changes sent with the proof that they come from our own page, and words for what went wrong.

const proof = document.querySelector('meta[name="proof"]')?.content ?? "";
const status = document.querySelector(".told");
let quiet = 0;
let troubled = false;

/** An answer that said no; `problem` has where, found, allowed and advice, `answer` the whole of it. */
export class Refused extends Error {
  constructor(code, answer) {
    super(answer?.error?.found ?? `the workbench answered ${code}`);
    this.code = code;
    this.answer = answer;
    this.problem = answer?.error ?? null;
  }
}

/** Send a change, or ask, and give the JSON of the answer; throws `Refused`, or TypeError where nothing answers. */
export async function ask(address, { method = "GET", body = undefined, signal = undefined } = {}) {
  const headers = { accept: "application/json" };
  if (method !== "GET") headers["shutline-proof"] = proof;
  let sent = body;
  if (body !== undefined && !(body instanceof Blob || body instanceof ArrayBuffer || body instanceof FormData)) {
    headers["content-type"] = "application/json";
    sent = JSON.stringify(body);
  }
  const response = await fetch(address, { method, headers, body: sent, signal, credentials: "same-origin" });
  let answer = null;
  try {
    answer = await response.json();
  } catch {
    answer = null;
  }
  if (!response.ok) throw new Refused(response.status, answer);
  // What went wrong before is over once a change has been taken.
  if (method !== "GET" && troubled && status) {
    status.hidden = true;
    troubled = false;
  }
  return answer;
}

/** Fetch a piece of a page as elements. */
export async function piece(address) {
  const response = await fetch(address, { headers: { accept: "text/html" }, credentials: "same-origin" });
  if (!response.ok) throw new Refused(response.status, null);
  const holder = document.createElement("template");
  holder.innerHTML = await response.text();
  return holder.content;
}

/** Tell in words what has happened, seen and read aloud. */
export function tell(words, { lasting = false } = {}) {
  if (!status) return;
  status.textContent = words;
  status.hidden = false;
  troubled = lasting;
  clearTimeout(quiet);
  if (!lasting) quiet = setTimeout(() => { status.hidden = true; }, 6000);
}

/** Tell what went wrong: where, what was found, what to do. */
export function tellTrouble(error) {
  if (error instanceof Refused && error.problem) {
    const { where, found, advice } = error.problem;
    tell(`${where}: ${found}. ${advice}`, { lasting: true });
  } else {
    tell("The workbench does not answer. Is it still running?", { lasting: true });
  }
}

/** Go to an address, and load it anew where it is this one: one that differs in its hash alone would not be. */
export function goTo(address) {
  const there = new URL(address, location.href);
  if (there.pathname === location.pathname && there.search === location.search) {
    history.replaceState(null, "", there);
    location.reload();
  } else {
    location.assign(there);
  }
}

/** Give a moment of a film as m:ss. */
export function moment(seconds) {
  const whole = Math.floor(seconds);
  const rest = `${Math.floor((whole % 3600) / 60)}:${String(whole % 60).padStart(2, "0")}`;
  return whole < 3600 ? rest : `${Math.floor(whole / 3600)}:${rest.padStart(5, "0")}`;
}

/** Make an element with words. */
export function text(tag, words, name = "") {
  const made = document.createElement(tag);
  made.textContent = words;
  if (name) made.className = name;
  return made;
}

/** Make an element of others. */
export function row(tag, children) {
  const made = document.createElement(tag);
  made.append(...children);
  return made;
}

/** Make a button that does something. */
export function button(words, act) {
  const made = text("button", words);
  made.type = "button";
  made.addEventListener("click", act);
  return made;
}
