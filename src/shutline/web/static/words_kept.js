// What is typed on the page Words and has not gone out yet stays in this browser, per car, and is there after a reload.

const CAR = document.getElementById("rewriting").dataset.car;
const plain = (words) => words.trim().split(/\s+/).join(" ");

function read(name) {
  try { return localStorage.getItem(name) ?? ""; } catch { return ""; }
}

/** Keep words; where the browser keeps nothing, say so by giving false. */
function write(name, words) {
  try {
    if (words.trim()) localStorage.setItem(name, words);
    else localStorage.removeItem(name);
    return true;
  } catch {
    return false;
  }
}

function told(note, words) {
  note.hidden = !words;
  note.textContent = words;
}

const KEPT = "What you typed is kept on this machine, in this browser, until it goes out or you empty the box.";
const NOT_KEPT = "This browser keeps nothing: what you typed is gone when the page is left.";
const OLDER = "What you typed before is kept on this machine until you type here. ";

/** Offer what was typed before, where the page came with other words. */
function offer(area, note, older) {
  const back = document.createElement("button");
  back.type = "button";
  back.textContent = "Bring it back";
  back.addEventListener("click", () => {
    area.value = older;
    area.focus();
    area.dispatchEvent(new Event("input", { bubbles: true }));
  });
  told(note, OLDER);
  note.append(back);
}

/** Keep what is typed in a box, and set it there again. */
export function keep(area) {
  const name = `shutline-words-${CAR}-${area.id}`;
  const note = document.getElementById(`${area.id}-kept`);
  const goesOut = document.getElementById("rewriting").dataset.goesOut ?? "";
  const kept = read(name);
  if (kept && goesOut && plain(kept) === plain(goesOut)) write(name, "");
  else if (kept && (!area.value.trim() || area.value === kept)) {
    area.value = kept;
    told(note, KEPT);
  } else if (kept) offer(area, note, kept);
  area.addEventListener("input", () => {
    const done = write(name, area.value);
    told(note, area.value.trim() ? (done ? KEPT : NOT_KEPT) : "");
  });
}
