// Add: files are laid down, sent in pieces, and what becomes of them is followed as it goes.

import { Refused, ask, piece, tell, tellTrouble } from "/static/workbench.js";
import { Ended, send } from "/static/sending.js";

const form = document.querySelector(".bring");
const lay = form.querySelector(".lay");
const laid = form.querySelector(".laid");
const holder = document.querySelector(".pieces");
const asked = document.querySelector(".asked");
const pieceBytes = Number(form.dataset.piece);
const WORDS = /\.(vtt|srt|json|txt)$/i;
const PICTURE = /\.(jpe?g|png|webp|heic|heif|tiff?|bmp|gif|avif)$/i;

/** What is laid down and not sent yet: `words` is the entry whose words this one holds. */
let chosen = [];
/** What this page is sending: delivery id to the switch that ends it. */
const sending = new Map();
let adding = null;

// What is laid down ----------------------------------------------------------------------------------------------------

function take(files) {
  const most = Number(form.dataset.files);
  for (const file of files) {
    const there = chosen.some(({ file: other }) => other.name === file.name && other.size === file.size && other.lastModified === file.lastModified);
    if (!there && chosen.length < most) chosen.push({ file, words: null });
  }
  for (const one of chosen) if (WORDS.test(one.file.name) && !one.settled) one.words = sameStem(one) ?? one.words;
  show();
}

function sameStem(one) {
  const stem = (name) => name.replace(/\.[^.]*$/, "").toLowerCase();
  return chosen.find((other) => other !== one && spoken(other) && stem(other.file.name) === stem(one.file.name)) ?? null;
}

function spoken(one) {
  return !WORDS.test(one.file.name) && !PICTURE.test(one.file.name);
}

function show() {
  laid.replaceChildren(...chosen.map(row));
  laid.hidden = chosen.length === 0;
  const bytes = chosen.reduce((sum, { file }) => sum + file.size, 0);
  form.querySelector(".go button").disabled = chosen.length === 0;
  lookForKnown();
  form.querySelector(".need").textContent = chosen.length ? `${chosen.length} ${chosen.length === 1 ? "file" : "files"}, ${size(bytes)}` : "Choose files first.";
}

function row(one, place) {
  const item = document.createElement("li");
  const name = make("p", "file-name", one.file.name);
  const how = make("p", "how small");
  how.append(make("span", "soft", size(one.file.size)));
  const beside = chosen.filter((other) => other !== one && spoken(other));
  if (WORDS.test(one.file.name) && beside.length) {
    const choice = document.createElement("select");
    choice.setAttribute("aria-label", `What ${one.file.name} is`);
    choice.append(new Option("a recording by itself", ""));
    for (const other of beside) choice.append(new Option(`the words of ${other.file.name}`, String(chosen.indexOf(other)), false, other === one.words));
    choice.addEventListener("change", () => {
      one.settled = true;
      one.words = choice.value === "" ? null : chosen[Number(choice.value)];
      for (const other of chosen) if (other !== one && one.words && other.words === one.words) other.words = null;
      show();
      laid.children[place]?.querySelector("select")?.focus();
    });
    how.append(choice);
  }
  const out = make("button", "out", "Leave out");
  out.type = "button";
  out.setAttribute("aria-label", `Leave out ${one.file.name}`);
  out.addEventListener("click", () => {
    chosen = chosen.filter((other) => other !== one);
    for (const other of chosen) if (other.words === one) other.words = null;
    show();
    (laid.querySelectorAll(".out")[Math.min(place, chosen.length - 1)] ?? form.querySelector("#files")).focus();
  });
  item.append(name, how, out);
  return item;
}

function make(kind, style, words = "") {
  const made = document.createElement(kind);
  made.className = style;
  made.textContent = words;
  return made;
}

function size(bytes) {
  for (const [unit, worth] of [["GB", 1e9], ["MB", 1e6], ["kB", 1e3]]) if (bytes >= worth) return `${(bytes / worth).toFixed(1)} ${unit}`;
  return `${bytes} bytes`;
}

form.querySelector("#files").addEventListener("change", (event) => {
  take(event.target.files);
  event.target.value = "";
});

for (const kind of ["dragenter", "dragover"]) {
  addEventListener(kind, (event) => {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    lay.classList.add("over");
  });
}
addEventListener("dragleave", (event) => {
  if (!event.relatedTarget) lay.classList.remove("over");
});
addEventListener("drop", async (event) => {
  if (!event.dataTransfer?.types.includes("Files")) return;
  event.preventDefault();
  lay.classList.remove("over");
  const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  const plain = [...event.dataTransfer.files];
  take(entries.some((entry) => entry.isDirectory) ? (await Promise.all(entries.map(within))).flat() : plain);
});

/** Give the files of a folder that was dropped, those in its folders too. */
async function within(entry) {
  if (entry.isFile) return [await new Promise((resolve, reject) => entry.file(resolve, reject))];
  const reader = entry.createReader();
  const found = [];
  for (;;) {
    const some = await new Promise((resolve, reject) => reader.readEntries(resolve, reject));
    if (!some.length) return found.flat();
    for (const one of some) if (!one.name.startsWith(".")) found.push(await within(one));
  }
}

// What is likely here already, said before anything is sent -----------------------------------------------------------------

const likely = form.querySelector(".likely");
let asking = 0;

/** Ask whether a car has a recording of the same name and size, while a new one is to be made. */
async function lookForKnown() {
  const turn = asking += 1;
  if (!likely) return;
  const files = chosen.filter(({ file }) => !PICTURE.test(file.name)).map(({ file }) => ({ name: file.name, byte_size: file.size }));
  let known = [];
  try {
    if (files.length) known = await ask("/add/likely", { method: "POST", body: files });
  } catch {
    known = [];
  }
  if (turn !== asking) return;
  likely.replaceChildren(...known.map((one) => {
    const line = document.createElement("div");
    line.append(make("p", "", `${one.name}: a recording of that name and size is of ${one.title} already${one.set_aside ? ", a car that is set aside" : ""}.`));
    const button = make("button", "", `Add to ${one.title}`);
    button.type = "button";
    button.addEventListener("click", () => {
      let radio = [...offered.querySelectorAll("input[name=car]")].find((other) => other.value === one.car);
      if (!radio) {
        offered.append(offer({ name: one.car, title: one.title }));
        radio = offered.lastElementChild.querySelector("input");
      }
      radio.checked = true;
      radio.focus();
      likely.hidden = true;
    });
    line.append(button);
    return line;
  }));
  likely.hidden = known.length === 0;
  if (known.length) tell(likely.querySelector("p").textContent);
}

// Of which car ---------------------------------------------------------------------------------------------------------

const offered = form.querySelector(".cars-offered");
form.querySelector("#title")?.addEventListener("input", () => { offered.querySelector('input[value=""]').checked = true; });

let soon = 0;
form.querySelector("#seek-car")?.addEventListener("input", (event) => {
  clearTimeout(soon);
  soon = setTimeout(async () => {
    try {
      const found = await ask(`/yard.json?${new URLSearchParams({ words: event.target.value })}`);
      const kept = offered.querySelector(".one input:checked")?.value;
      for (const old of offered.querySelectorAll(".one")) if (old.querySelector("input").value !== kept) old.remove();
      for (const { car } of found.cars.filter(({ car: { name } }) => name !== kept).slice(0, 8)) offered.append(offer(car));
      tell(found.count === 0 ? "No car fits." : `${found.count} ${found.count === 1 ? "car fits" : "cars fit"}.`);
    } catch (error) {
      tellTrouble(error);
    }
  }, 250);
});
form.querySelector("#seek-car")?.addEventListener("keydown", (event) => { if (event.key === "Enter") event.preventDefault(); });

function offer(car) {
  const label = make("label", "pick one");
  const radio = document.createElement("input");
  Object.assign(radio, { type: "radio", name: "car", value: car.name });
  label.append(radio, ` ${car.title}`);
  // Of two that are shown alike, the name tells which is which.
  if ([...offered.querySelectorAll(".one")].some((other) => other.textContent.trim().startsWith(car.title))) label.append(make("span", "soft small", car.name));
  return label;
}

// Sending --------------------------------------------------------------------------------------------------------------

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  if (!chosen.length) return;
  const button = form.querySelector(".go button");
  button.disabled = true;
  const said = new FormData(form);
  const announced = {
    car: form.dataset.car ?? (said.get("car") || null),
    title: said.get("title") ?? "",
    drive: said.get("drive") || null,
    files: chosen.map(({ file, words }) => ({ name: file.name, byte_size: file.size, words_of: words ? chosen.indexOf(words) : null })),
  };
  if (announced.car) announced.title = "";
  try {
    const delivery = await ask("/add/deliveries", { method: "POST", body: announced });
    const files = new Map(chosen.map(({ file }, place) => [place, file]));
    chosen = [];
    form.reset();
    show();
    begin(delivery.id, files);
    await refresh();
    seek(document.getElementById(`d-${delivery.id}`) ?? document);
  } catch (error) {
    tellTrouble(error);
    show();
  }
});

async function begin(id, files) {
  const ending = new AbortController();
  sending.set(id, ending);
  dress();
  const heard = (words) => tell(words || "The workbench answers again.", { lasting: Boolean(words) });
  try {
    await send(id, files, { pieceBytes, signal: ending.signal, heard });
  } catch (error) {
    if (!(error instanceof Ended)) throw error;
    const trouble = error.trouble;
    if (trouble instanceof Refused && trouble.code === 401) tell("The workbench was started anew. Open the link it printed; what was sent is kept, and goes on from there.", { lasting: true });
    else if (trouble instanceof Refused && trouble.problem?.slug !== "upload-unknown") tellTrouble(trouble);
    else if (trouble) tell("A file can no longer be read where it lies. Choose it again to go on.", { lasting: true });
  } finally {
    sending.delete(id);
    dress();
  }
}

addEventListener("beforeunload", (event) => {
  if (sending.size) event.preventDefault();
});

// What is coming in ----------------------------------------------------------------------------------------------------

let busy = null;
let wanted = false;

/** Bring what is shown up to date, once at a time; nodes stay where they are, so that focus and clicks are not lost. */
function refresh() {
  wanted = true;
  busy ??= (async () => {
    try {
      while (wanted) {
        wanted = false;
        const fresh = document.createElement("div");
        fresh.append(await piece("/add/pieces"));
        mend(asked, fresh.querySelector(".asked"));
        mend(holder, fresh.querySelector(".pieces"));
        dress();
      }
    } catch (error) {
      tellTrouble(error);
    } finally {
      busy = null;
    }
  })();
  return busy;
}

/** What this page sets on nodes by itself, which a fresh piece does not know of: taking a heading's tabindex would take its focus. */
const OWN = ["hidden", "tabindex"];

function mend(old, fresh) {
  const news = laidOut(fresh);
  const named = new Set(news.map(({ id }) => id).filter(Boolean));
  for (const gone of laidOut(old).filter(({ id }) => id && !named.has(id))) replace(gone, null);
  let there = old.firstChild;
  for (const node of news) {
    // What is new among things with a name pushes the others down; none of them is made anew for it.
    if (!there || (node.id && there.id && node.id !== there.id)) {
      old.insertBefore(node, there);
      continue;
    }
    const next = there.nextSibling;
    if (there.nodeName !== node.nodeName || there.id !== node.id || there.dataset?.state !== node.dataset?.state) replace(there, node);
    else if (node.nodeType === Node.TEXT_NODE) { if (there.data !== node.data) there.data = node.data; }
    else {
      for (const { name, value } of node.attributes) if (!OWN.includes(name) && there.getAttribute(name) !== value) there.setAttribute(name, value);
      for (const { name } of [...there.attributes]) if (!OWN.includes(name) && !node.hasAttribute(name)) there.removeAttribute(name);
      mend(there, node);
    }
    there = next;
  }
  while (there) {
    const next = there.nextSibling;
    replace(there, null);
    there = next;
  }
}

/** Give what a node holds; where things have names, the white space between them is put away. */
function laidOut(node) {
  if ([...node.children].some(({ id }) => id)) for (const one of [...node.childNodes]) if (one.nodeType === Node.TEXT_NODE && !one.data.trim()) one.remove();
  return [...node.childNodes];
}

/** Put another node, or none, in a node's place; what had the focus hands it to the heading of what stands there now. */
function replace(there, node) {
  const held = there.nodeType === Node.ELEMENT_NODE && there.contains(document.activeElement);
  if (node) there.replaceWith(node);
  else there.remove();
  if (held) seek(node ?? document);
}

function seek(node) {
  const heading = node.querySelector?.("h3") ?? document.getElementById("under-way");
  heading.setAttribute("tabindex", "-1");
  heading.focus();
}

/** Show of a delivery that is being sent what can be done from this page. */
function dress() {
  for (const article of holder.querySelectorAll('[data-state="arriving"]')) {
    const stands = adding?.deliveries.find(({ id }) => id === article.dataset.id);
    const mine = sending.has(article.dataset.id);
    const elsewhere = !mine && Boolean(stands?.sending);
    const held = !mine && !elsewhere;
    const some = stands?.files.some(({ sha256, problem }) => sha256 && !problem);
    visible(article, '[data-do="hold"]', mine);
    visible(article, ".elsewhere", elsewhere);
    visible(article, ".again", held);
    visible(article, '[data-do="leave-out"]', held && some);
    visible(article, '[data-do="put-away"]', held);
  }
}

function visible(within_, which, yes) {
  const found = within_.querySelector(which);
  if (found) found.hidden = !yes;
}

holder.addEventListener("click", async (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const id = button.closest(".delivery")?.dataset.id;
  try {
    if (button.dataset.readOn) await ask(`/add/recordings/${button.dataset.readOn}/go-on`, { method: "POST", body: {} });
    else if (button.dataset.do === "hold") {
      sending.get(id)?.abort();
      tell("Sending is stopped; what was sent is kept.");
    }
    else if (button.dataset.do === "leave-out") {
      const { files } = await ask(`/add/deliveries/${id}.json`);
      for (const [place, file] of files.entries()) if (!file.sha256 && !file.problem) await ask(`/add/deliveries/${id}/files/${place}/leave-out`, { method: "POST", body: {} });
    } else {
      await ask(`/add/deliveries/${id}/${button.dataset.do}`, { method: "POST", body: {} });
      if (button.dataset.do === "stop") tell("It stops at the next good moment; what is done is kept.");
    }
    await refresh();
    // Only a focus that has nowhere to be is moved; whoever has gone on to another button keeps it.
    const held = document.activeElement;
    if (held === document.body || (held === button && button.hidden)) seek(document.getElementById(`d-${id}`) ?? document.body);
  } catch (error) {
    tellTrouble(error);
  }
});

// A form of its own would leave the page, and what it is sending.
asked.addEventListener("submit", async (event) => {
  event.preventDefault();
  const { id } = event.target.closest(".asking").dataset;
  const car = new FormData(event.target).get("car") || null;
  try {
    await ask(`/add/deliveries/${id}/whose`, { method: "POST", body: { car } });
    await refresh();
    seek(document.getElementById(`d-${id}`) ?? document);
  } catch (error) {
    tellTrouble(error);
  }
});

holder.addEventListener("change", async (event) => {
  if (!("again" in event.target.dataset)) return;
  const { id } = event.target.closest(".delivery").dataset;
  const given = [...event.target.files];
  event.target.value = "";
  try {
    const { files } = await ask(`/add/deliveries/${id}.json`);
    const fits = new Map();
    files.forEach((file, place) => {
      if (file.sha256 || file.problem) return;
      const same = given.filter((one) => one.size === file.byte_size);
      const one = same.find(({ name }) => name === file.name) ?? (same.length === 1 ? same[0] : null);
      if (one) fits.set(place, one);
    });
    if (fits.size) begin(id, fits);
    else tell("None of these is a file that was being sent: name and size are others.", { lasting: true });
  } catch (error) {
    tellTrouble(error);
  }
});

function follow(fresh) {
  for (const one of fresh.deliveries) {
    const before = adding?.deliveries.find(({ id }) => id === one.id);
    if (!before || before.state === one.state) continue;
    const name = one.title || one.car || one.files[0].name;
    if (one.state === "done") tell(one.files.some(({ problem }) => problem) ? `${name}: done, but not with every file.` : `${name}: brought in.`);
    if (one.state === "asking") tell("A film of it is here already: say at the top of the page of which car it is.", { lasting: true });
    if (one.state === "stopped") tell(`${name}: stopped.`);
  }
  adding = fresh;
  refresh();
}

function look() {
  ask("/add.json").then(follow).catch(tellTrouble).finally(() => setTimeout(look, 3000));
}

if ("EventSource" in window) {
  const events = new EventSource("/add/events");
  events.addEventListener("adding", (event) => follow(JSON.parse(event.data)));
  let lost = 0;
  events.addEventListener("open", () => {
    clearTimeout(lost);
    if (lost === -1) tell("The workbench answers again.");
    lost = 0;
  });
  events.addEventListener("error", () => {
    if (events.readyState === EventSource.CLOSED) tell("The workbench was started anew. Open the link it printed; what came in is kept.", { lasting: true });
    else if (!lost) lost = setTimeout(() => { lost = -1; tell("The workbench does not answer. Is it still running? What came in is kept.", { lasting: true }); }, 5000);
  });
} else {
  look();
}
show();
