// Which key does what: as they came, or as the user has chosen; kept in the browser, checked whenever it is read.

export const DEEDS = [
  ["stands", "Stands", "s"],
  ["strike", "Strike", "x"],
  ["amend", "Amend", "a"],
  ["next", "Next", "n"],
  ["back", "Back", "b"],
  ["undo", "Undo", "u"],
  ["play", "Play or stop", " "],
  ["slower", "Slower", "-"],
  ["still", "Another still", "t"],
  ["missed", "Add what was missed", "m"],
  ["instead", "Take the other reading", "o"],
  ["history", "Who did what", "h"],
  ["keys", "Keys", "k"],
];

const PLACE = "shutline-review-keys";
const NAMED = new Set([" ", "Enter", "Backspace", "Delete", "Insert", "Home", "End", "PageUp", "PageDown", "ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown"]);

export function asCame() {
  return { off: false, keys: Object.fromEntries(DEEDS.map(([deed, , key]) => [deed, key])) };
}

/** Say what is wrong with a choice of keys; nothing where it can be kept. */
export function wrongWith(choice) {
  if (typeof choice !== "object" || choice === null || typeof choice.off !== "boolean" || typeof choice.keys !== "object" || choice.keys === null) return "They cannot be read.";
  const taken = new Map();
  for (const [deed, name] of DEEDS) {
    const key = choice.keys[deed];
    if (typeof key !== "string" || key === "") return `${name} has no key yet: go to it and press one.`;
    if (/^[0-9]$/.test(key)) return `${name}: figures choose among values at odds.`;
    if (!allowed(key)) return `${name}: ${shown(key)} cannot be taken.`;
    if (taken.has(key)) return `${shown(key)} is wanted for both ${taken.get(key)} and ${name}.`;
    taken.set(key, name);
  }
  return "";
}

/** Read the user's keys; those that cannot be are left for those as they came. */
export function readKeys() {
  try {
    const kept = JSON.parse(localStorage.getItem(PLACE) ?? "null");
    return kept !== null && wrongWith(kept) === "" ? kept : asCame();
  } catch {
    return asCame();
  }
}

function keep(choice) {
  try {
    localStorage.setItem(PLACE, JSON.stringify(choice));
    return true;
  } catch {
    return false;
  }
}

function allowed(key) {
  return NAMED.has(key) || ([...key].length === 1 && key.trim() !== "");
}

/** Name the key of an event as it is kept: letters are small, for Shift changes nothing. */
export function keyOf(event) {
  return event.key.length === 1 ? event.key.toLowerCase() : event.key;
}

export function shown(key) {
  const names = { " ": "Space", ArrowLeft: "←", ArrowRight: "→", ArrowUp: "↑", ArrowDown: "↓", PageUp: "Page up", PageDown: "Page down" };
  return names[key] ?? (key.length === 1 ? key.toUpperCase() : key);
}

/** Write the keys on the buttons they stand for. */
export function writeKeys(root, choice) {
  for (const button of root.querySelectorAll("[data-do]")) {
    let mark = button.querySelector("kbd");
    if (!mark) button.append(" ", (mark = document.createElement("kbd")));
    mark.textContent = shown(choice.keys[button.dataset.do]);
    mark.hidden = choice.off;
    if (choice.off) button.removeAttribute("aria-keyshortcuts");
    else button.setAttribute("aria-keyshortcuts", shown(choice.keys[button.dataset.do]));
  }
  for (const mark of root.querySelectorAll("kbd[data-key]")) {
    mark.textContent = shown(choice.keys[mark.dataset.key]);
    mark.hidden = choice.off;
  }
}

/** Let the user choose other keys; `changed` is told those that are kept. */
export function chooseKeys(dialog, present, changed) {
  const fields = dialog.querySelector(".fields");
  const wrong = dialog.querySelector(".wrong");
  const off = dialog.querySelector(".off");
  let choice;

  const set = (from) => {
    choice = { off: from.off, keys: { ...from.keys } };
    off.checked = choice.off;
    for (const input of fields.querySelectorAll("input")) input.value = shown(choice.keys[input.dataset.deed] ?? "");
    check();
  };
  const check = () => {
    const trouble = wrongWith(choice);
    wrong.textContent = trouble;
    wrong.hidden = trouble === "";
    dialog.querySelector(".keep").disabled = trouble !== "";
    return trouble === "";
  };

  fields.replaceChildren(...DEEDS.map(([deed, name]) => {
    const row = document.createElement("p");
    const label = document.createElement("label");
    const input = document.createElement("input");
    input.id = `key-${deed}`;
    input.dataset.deed = deed;
    input.readOnly = true;
    label.htmlFor = input.id;
    label.textContent = name;
    input.addEventListener("keydown", (event) => {
      if (event.key === "Tab" || event.key === "Escape" || event.ctrlKey || event.metaKey || event.altKey) return;
      if (["Shift", "Control", "Alt", "AltGraph", "Meta", "CapsLock", "Dead", "Unidentified"].includes(event.key)) return;
      event.preventDefault();
      event.stopPropagation();
      choice.keys[deed] = keyOf(event);
      input.value = shown(choice.keys[deed]);
      check();
    });
    row.append(label, " ", input);
    return row;
  }));
  set(present);
  off.onchange = () => { choice.off = off.checked; };
  dialog.querySelector(".as-came").onclick = () => set(asCame());
  dialog.querySelector(".leave").onclick = () => dialog.close();
  dialog.querySelector("form").onsubmit = (event) => {
    event.preventDefault();
    if (!check()) return;
    const kept = keep(choice);
    changed(choice, kept);
    dialog.close();
  };
  dialog.showModal();
}
