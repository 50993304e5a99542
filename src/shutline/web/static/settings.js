// Sends each form of the settings as JSON, tells in its own place why one was not taken, and loads the page anew after.

import { Refused, ask, goTo, tell, tellTrouble } from "/static/workbench.js";

const KEPT = "shutline.kept";

const kept = sessionStorage.getItem(KEPT);
if (kept) {
  sessionStorage.removeItem(KEPT);
  tell(kept);
}

// What the address names is where the reader wants to be: in a form, in its first field. The browser goes there too,
// and last, when all is loaded.
addEventListener("load", () => requestAnimationFrame(() => {
  const named = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!named) return;
  const form = named.matches("form") ? named : named.querySelector(":scope > form.fields");
  const field = named.matches("section") ? null : form?.querySelector("input:not([type='hidden']), textarea, select");
  (field ?? named).focus();
}));

// Several may be given, parted by bars: what can be picked goes on from those that are there.
for (const field of document.querySelectorAll("input[list]")) {
  const known = [...field.list.options].map((option) => [option, option.value]);
  const offer = () => {
    const before = field.value.slice(0, field.value.lastIndexOf("|") + 1);
    for (const [option, id] of known) option.value = before + id;
  };
  field.addEventListener("input", offer);
  offer();
}

for (const form of document.querySelectorAll("form[data-to]")) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    send(form);
  });
  // A form that was sent before this ran would have left the page with nothing kept.
  for (const button of form.querySelectorAll("button")) button.disabled = false;
}

async function send(form) {
  const buttons = form.querySelectorAll("button");
  const said = form.querySelector(".refused");
  said.hidden = true;
  said.replaceChildren();
  for (const button of buttons) button.disabled = true;
  const sent = Object.fromEntries(new FormData(form));
  try {
    if (form.dataset.check) {
      const { problems } = await ask(form.dataset.check, { method: "POST", body: sent });
      if (problems.length) {
        say(said, problems.map((problem) => lineOf(problem, form)));
        return;
      }
    }
    await ask(form.dataset.to, { method: "POST", body: sent });
    sessionStorage.setItem(KEPT, form.dataset.told);
    goTo(form.dataset.then);
  } catch (error) {
    if (!(error instanceof Refused) || !error.problem) {
      tellTrouble(error);
      return;
    }
    const { where, found, allowed, advice } = error.problem;
    const lines = [paragraph(`${where}: ${found}; ${allowed}. ${advice}`)];
    if (error.code === 409) lines.push(nowThere(error.answer, form));
    say(said, lines);
  } finally {
    for (const button of buttons) button.disabled = false;
  }
}

function say(said, lines) {
  said.replaceChildren(...lines);
  said.hidden = false;
  said.scrollIntoView({ block: "nearest" });
}

function paragraph(words) {
  const made = document.createElement("p");
  made.textContent = words;
  return made;
}

// One thing that is wrong with a text; where it names a line, a button goes there.
function lineOf(problem, form) {
  const made = paragraph(`${problem.found}; ${problem.allowed}.`);
  const line = Number(/(?::|, line )(\d+)$/.exec(problem.where)?.[1]);
  const text = form.querySelector("textarea");
  if (!line || !text) {
    made.prepend(`${problem.where}: `);
    return made;
  }
  const button = document.createElement("button");
  button.type = "button";
  button.className = "plain";
  button.textContent = `Line ${line}`;
  button.addEventListener("click", () => {
    const lines = text.value.split("\n");
    const start = lines.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    text.focus();
    text.setSelectionRange(start, start + (lines[line - 1]?.length ?? 0));
  });
  made.prepend(button, ": ");
  return made;
}

// Somebody else was quicker: what is there now, beside what stands in the form still.
function nowThere(answer, form) {
  const made = paragraph("What you have written stays here until you leave. ");
  const link = document.createElement("a");
  link.href = form.dataset.then;
  link.target = "_blank";
  link.textContent = "Open what is there now";
  made.append(link);
  if (typeof answer.present !== "string" || !form.querySelector("textarea[name='text']")) return made;
  const holder = document.createElement("div");
  const there = document.createElement("pre");
  there.tabIndex = 0;
  there.textContent = answer.present || "No rows.";
  there.setAttribute("aria-label", "What is there now");
  holder.append(made, there);
  return holder;
}
