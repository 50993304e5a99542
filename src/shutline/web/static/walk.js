// The route: one step at a time, on by a tap, a key or a set time. Nothing is listened to; all of it is in the page.

const at = (id) => document.getElementById(id);
const { steps, cautions } = JSON.parse(at("steps").textContent);
const CAR = at("route").dataset.car;
const PLACE = `shutline-route-${CAR}-${at("route").dataset.of}`;
const PACE = "shutline-route-seconds";
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const keys = new Map(steps.flatMap((step, number) => step.keys.map((key) => [key, number])));
// A caution holds time up once; it is told each time.
const read = new Set();
let here = null;
let seconds = 0;
let left = 0;
let since = null;
let paused = false;
let awake = null;

// Where ---------------------------------------------------------------------------------------------------------------

function kept(name) {
  try { return localStorage.getItem(name); } catch { return null; }
}

function keep(name, value) {
  try { localStorage.setItem(name, value); } catch { /* the phone keeps nothing: it begins at the start, then */ }
}

/** Show what the address names: a step, the end, or what comes before. */
function arrive() {
  const key = decodeURIComponent(location.hash.slice(1));
  here = key === "end" && steps.length ? steps.length : keys.get(key) ?? null;
  const under = here !== null && here < steps.length;
  at("before").hidden = here !== null;
  at("step").hidden = at("moves").hidden = !under;
  at("end").hidden = here !== steps.length || here === null;
  document.body.classList.toggle("walking", under);
  stop();
  if (under) {
    keep(PLACE, steps[here].keys[0]);
    const fresh = steps[here].cautions.some((name) => !read.has(name));
    for (const name of steps[here].cautions) read.add(name);
    show(steps[here], fresh);
    begin(fresh);
    stayAwake();
  } else {
    letSleep();
    if (here !== null) { keep(PLACE, ""); at("end-title").focus(); } else { offer(); }
  }
}

function go(number, { push = false } = {}) {
  const hash = number >= steps.length ? "#end" : `#${steps[Math.max(0, number)].keys[0]}`;
  if (push) history.pushState(null, "", hash);
  else history.replaceState(null, "", hash);
  arrive();
}

function offer() {
  const number = keys.get(kept(PLACE) ?? "");
  at("go-on").hidden = !number;
  if (number) at("go-on").textContent = `Go on at ${number + 1}, ${steps[number].name}`;
}

function show(step, fresh) {
  at("now").classList.toggle("fresh", fresh);
  at("count").textContent = `${here + 1} of ${steps.length}`;
  at("stop").textContent = step.stop;
  at("walked").value = here;
  at("arrive").hidden = !step.first;
  at("arrive").textContent = `Now ${step.stop}.`;
  at("name").textContent = capital(step.name);
  at("how").textContent = `${step.say ? "Say it" : "Show it"}: ${step.how}.${step.safety ? " When bad, somebody may be hurt." : ""}`;
  at("look").classList.toggle("several", step.matters.length > 1);
  at("look").replaceChildren(...step.matters.flatMap(matter));
  at("tools").hidden = !step.tools;
  at("tools").textContent = `With ${step.tools}.`;
  at("cautions").hidden = step.cautions.length === 0;
  at("cautions").replaceChildren(...step.cautions.map((name) => {
    const line = document.createElement("li");
    line.textContent = cautions[name];
    return line;
  }));
  at("back").disabled = here === 0;
  at("next").textContent = here + 1 === steps.length ? "Done" : "Next";
  scrollTo(0, 0);
}

/** One matter of a look: what it is of where there are several, what to look for, and why. */
function matter({ of, what, why }) {
  const look = document.createElement("p");
  if (of) {
    const name = document.createElement("b");
    name.textContent = `${capital(of)}: `;
    look.append(name, `${what}.`);
  } else {
    look.textContent = `${capital(what)}.`;
  }
  const reason = document.createElement("p");
  reason.className = "why";
  reason.textContent = `${capital(why)}.`;
  return [look, reason];
}

function capital(words) {
  return words.slice(0, 1).toUpperCase() + words.slice(1);
}

// Time ----------------------------------------------------------------------------------------------------------------

let ticking = 0;

/** Let time run at this step, unless something holds it up. */
function begin(fresh) {
  const step = steps[here];
  left = seconds;
  at("left").hidden = at("pause").hidden = seconds === 0;
  at("moves").classList.toggle("timed", seconds > 0);
  if (seconds === 0) return;
  at("running").max = seconds;
  if (step.waits || fresh) {
    hold(step.waits ? "On the road no time runs: tap to go on." : "Read the caution, then tap to go on.");
  } else if (paused) {
    hold("Paused.");
  } else {
    run();
  }
}

function run() {
  paused = false;
  since = performance.now();
  at("pause").textContent = "Pause";
  at("pause").disabled = false;
  ticking = setInterval(tick, calm.matches ? 1000 : 200);
  tick();
}

function tick() {
  const remains = left - (performance.now() - since) / 1000;
  if (remains <= 0) { go(here + 1); return; }
  at("seconds").textContent = `${Math.ceil(remains)} s`;
  at("running").value = calm.matches ? Math.ceil(remains) : remains;
}

function stop() {
  clearInterval(ticking);
  if (since !== null) left -= (performance.now() - since) / 1000;
  since = null;
}

/** Let time stand still, and say why. */
function hold(words) {
  stop();
  at("seconds").textContent = words;
  at("running").value = Math.max(0, left);
  at("pause").textContent = "Go on";
  at("pause").disabled = false;
}

function pauseOrGoOn() {
  if (since === null) { run(); return; }
  paused = true;
  hold("Paused.");
}

// A screen that goes dark is no help with both hands full; where the phone does not allow it, it goes dark.
async function stayAwake() {
  try { awake ??= await navigator.wakeLock.request("screen"); } catch { awake = null; }
}

function letSleep() {
  awake?.release().catch(() => {});
  awake = null;
}

document.addEventListener("visibilitychange", () => {
  if (document.hidden) {
    awake = null;
    if (since !== null) { paused = true; hold("Paused while you were away."); }
  } else if (here !== null && here < steps.length) {
    stayAwake();
  }
});

// Touch and keys ------------------------------------------------------------------------------------------------------

function setPace() {
  seconds = Number(document.querySelector("input[name=on]:checked").value);
  keep(PACE, String(seconds));
}

function start(number) {
  paused = false;
  go(number, { push: true });
  at("next").focus({ preventScroll: true });
}

function onward() {
  paused = false;
  go(here + 1);
}

if (steps.length) {
  const chosen = document.querySelector(`input[name=on][value="${CSS.escape(kept(PACE) ?? "0")}"]`);
  if (chosen) chosen.checked = true;
  setPace();
  for (const one of document.querySelectorAll("input[name=on]")) one.addEventListener("change", setPace);
  at("begin").addEventListener("click", () => start(0));
  at("go-on").addEventListener("click", () => start(keys.get(kept(PLACE)) ?? 0));
}
at("next").addEventListener("click", onward);
at("back").addEventListener("click", () => go(here - 1));
at("pause").addEventListener("click", pauseOrGoOn);
at("again").addEventListener("click", () => go(0));
at("leave").addEventListener("click", () => {
  history.replaceState(null, "", location.pathname + location.search);
  arrive();
  at("before-title").focus();
});
// What a remote control for slides sends, too.
addEventListener("keydown", (event) => {
  if (here === null || here >= steps.length || event.altKey || event.ctrlKey || event.metaKey) return;
  const move = { ArrowRight: 1, PageDown: 1, ArrowLeft: -1, PageUp: -1 }[event.key];
  if (!move) return;
  event.preventDefault();
  if (move > 0) onward();
  else if (here > 0) go(here - 1);
});
addEventListener("hashchange", arrive);
addEventListener("popstate", arrive);

// Without signal ------------------------------------------------------------------------------------------------------

async function keepThePage() {
  const told = (words) => { at("limits").textContent = words; at("limits").hidden = false; };
  if (!isSecureContext || !("serviceWorker" in navigator)) {
    told("On this address a browser does not keep the page: leave it open while there is no signal.");
    return;
  }
  try {
    navigator.serviceWorker.addEventListener("message", (event) => {
      if (event.data?.kept === location.pathname + location.search) told("This page opens without signal, too.");
    });
    await navigator.serviceWorker.register("/at-the-car/worker.js", { scope: "/cars/" });
    (await navigator.serviceWorker.ready).active.postMessage({ keep: location.pathname + location.search });
  } catch { /* it opens with signal alone, then */ }
}

arrive();
keepThePage();
