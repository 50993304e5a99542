// Sends what is entered in the ledger; what is refused stays as it was typed, with why at the field that it is about.

import { Refused, ask, goTo, tell } from "/static/workbench.js";

const ENTERED = "shutline.entered";

const entered = sessionStorage.getItem(ENTERED);
if (entered) {
  sessionStorage.removeItem(ENTERED);
  tell(entered);
}

// What was just made is where the reader wants to be; the browser goes back to where it was, and last, when all is loaded.
addEventListener("load", () => requestAnimationFrame(() => {
  if (location.hash) document.getElementById(decodeURIComponent(location.hash.slice(1)))?.focus();
}));

for (const form of document.querySelectorAll("form[data-to]")) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (form.dataset.sure) askAgain(form);
    else send(form, event.submitter);
  });
  form.addEventListener("input", ({ target }) => forget(target));
  for (const button of form.querySelectorAll("button")) button.disabled = false;
}

// A car file that is chosen has its title, which a purchase can begin with.
for (const field of document.querySelectorAll("input[list]")) {
  field.addEventListener("change", () => {
    const what = field.form.elements.what;
    const option = [...field.list.options].find((one) => one.value === field.value);
    if (option && !what.value.trim()) what.value = option.textContent;
  });
}

// The other side of a part exchange is who the other car was bought from.
for (const choice of document.querySelectorAll("select[data-fills]")) {
  const fill = () => {
    for (const [name, value] of Object.entries(choice.selectedOptions[0].dataset)) choice.form.elements[name].value = value;
  };
  choice.addEventListener("change", fill);
  fill();
}

async function send(form, pressed) {
  clear(form);
  const buttons = form.querySelectorAll("button");
  for (const button of buttons) button.disabled = true;
  try {
    const answer = await ask(form.dataset.to, { method: "POST", body: typed(form, pressed) });
    // Where all is answered the sentence holds every answer, and the page has them.
    const answered = answer.eligible === "eligible" ? "Eligible, by what was answered." : answer.sentence;
    sessionStorage.setItem(ENTERED, answer.entry ? `Entry ${answer.entry.number} is made. ${answer.told}`.trim() : answered);
    goTo(form.dataset.then ?? `/ledger/stock/${answer.entry.stock}#entry-${answer.entry.number}`);
  } catch (error) {
    if (error instanceof Refused && error.problem) say(form, error.problem);
    else tell("The workbench does not answer. Load the page again, and see whether it was entered, before you send it once more.", { lasting: true });
    for (const button of buttons) button.disabled = false;
  }
}

// What is not shown does not belong to the entry, whatever was typed there before.
function typed(form, pressed) {
  const sent = pressed?.name ? { [pressed.name]: pressed.value } : {};
  for (const field of form.elements) {
    if (!field.name || field.type === "submit") continue;
    const shown = field.type === "hidden" || field.offsetParent;
    const chosen = !["radio", "checkbox"].includes(field.type) || field.checked;
    if (shown && chosen) sent[field.name] = field.value;
  }
  return sent;
}

function say(form, { found, allowed, advice, field }) {
  const words = `${found}; ${allowed}. ${advice}`;
  const named = [...form.elements].find((one) => one.name === field && one.type !== "hidden" && one.offsetParent);
  const place = named?.closest(".field");
  if (!place) {
    const said = form.querySelector(".refused[role]");
    said.textContent = words.charAt(0).toUpperCase() + words.slice(1);
    said.hidden = false;
    said.scrollIntoView({ block: "nearest" });
    return;
  }
  const said = document.createElement("span");
  said.className = "refused";
  said.id = `${named.id}-refused`;
  said.setAttribute("role", "alert");
  place.append(said);
  said.textContent = words.charAt(0).toUpperCase() + words.slice(1);
  named.setAttribute("aria-invalid", "true");
  named.dataset.hint = named.getAttribute("aria-describedby") ?? "";
  named.setAttribute("aria-describedby", `${said.id} ${named.dataset.hint}`.trim());
  named.focus();
}

function clear(form) {
  const whole = form.querySelector(".refused[role]");
  whole.hidden = true;
  whole.textContent = "";
  for (const field of form.querySelectorAll("[aria-invalid]")) forget(field);
}

function forget(field) {
  if (field.getAttribute("aria-invalid") !== "true") return;
  field.removeAttribute("aria-invalid");
  document.getElementById(`${field.id}-refused`)?.remove();
  if (field.dataset.hint) field.setAttribute("aria-describedby", field.dataset.hint);
  else field.removeAttribute("aria-describedby");
}

// What cannot be taken away again is asked once more, in the place of the button.
function askAgain(form) {
  if (form.querySelector(".sure")) return;
  const button = form.querySelector("button.main");
  const sure = document.createElement("div");
  sure.className = "sure";
  sure.setAttribute("role", "group");
  const words = document.createElement("p");
  words.id = `${form.id}-sure`;
  words.textContent = form.dataset.sure;
  sure.setAttribute("aria-labelledby", words.id);
  const turns = document.createElement("p");
  const [yes, no] = [`Yes: ${button.textContent.toLowerCase()}`, "No, let it stand"].map((label) => {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = label;
    turns.append(made);
    return made;
  });
  sure.append(words, turns);
  const away = () => {
    sure.remove();
    button.hidden = false;
    button.focus();
  };
  yes.addEventListener("click", async () => {
    await send(form);
    if (form.querySelector("[aria-invalid], .refused:not([hidden])")) away();
  });
  no.addEventListener("click", away);
  sure.addEventListener("keydown", (event) => { if (event.key === "Escape") away(); });
  button.hidden = true;
  button.after(sure);
  no.focus();
}
