// At odds: a moment plays in its place, and an answer that comes too late is shown beside what is there now.
import { Refused, ask, tellTrouble } from "/static/workbench.js";

const LEAD_S = 1.5;
const cases = document.querySelector(".cases");

for (const button of document.querySelectorAll("button.play")) {
  button.addEventListener("click", () => play(button));
}

function play(button) {
  const { src, kind, start, end } = button.dataset;
  const from = Math.max(0, Number(start) - LEAD_S);
  const to = Number(end) + LEAD_S;
  const place = button.closest(".stands-on");
  let media = place.querySelector("video, audio");
  if (!media) {
    media = document.createElement(kind === "film" ? "video" : "audio");
    media.controls = true;
    media.playsInline = true;
    media.src = `${src}#t=${from.toFixed(2)},${to.toFixed(2)}`;
    media.setAttribute("aria-label", button.textContent);
    media.addEventListener("error", () => {
      media.remove();
      place.querySelector("img")?.removeAttribute("hidden");
      button.replaceWith(Object.assign(document.createElement("span"), { className: "soft", textContent: "This browser cannot play it." }));
    });
    const still = place.querySelector("img");
    if (still && kind === "film") still.hidden = true;
    place.prepend(media);
  } else {
    media.currentTime = from;
  }
  media.play().catch(() => { /* the browser's own buttons are there */ });
}

for (const form of document.querySelectorAll("form[action$='/decide']")) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const sent = Object.fromEntries(new FormData(form));
    decide(form, {
      case: sent.case,
      holds: sent.holds ?? "",
      reason: sent.reason ?? "",
      mark: sent.mark ?? null,
      answers: Number(sent.answers),
    });
  });
}

async function decide(form, body) {
  const buttons = form.querySelectorAll("button");
  for (const button of buttons) button.disabled = true;
  try {
    await ask(cases.dataset.decide, { method: "POST", body });
    go(body);
  } catch (error) {
    for (const button of buttons) button.disabled = false;
    const both = form.querySelector(".both");
    if (both && error instanceof Refused && error.code === 409 && error.answer?.said) showBoth(both, form, body, error.answer);
    else tellTrouble(error);
  }
}

function showBoth(both, form, body, { said, present }) {
  both.querySelector(".present").textContent = said.present;
  both.querySelector(".wanted").textContent = said.wanted;
  const open = present?.odds;
  const mine = both.querySelector(".mine");
  // What is at odds no more can only be left, or taken back where it stands among what was decided.
  mine.hidden = !open;
  mine.onclick = () => decide(form, { ...body, mark: open.mark, answers: present.decisions.length });
  both.querySelector(".leave").onclick = () => location.reload();
  both.hidden = false;
  both.querySelector("h3").focus();
}

// The page is drawn anew, at what was decided; the next open case has the focus, so that keys go on from there.
function go({ case: id, holds }) {
  const all = [...document.querySelectorAll(".cases .case")];
  const at = all.findIndex((one) => one.id === `case-${id}`);
  const next = holds === "open" ? `case-${id}` : (all[at + 1] ?? all[at - 1])?.id ?? "decided";
  const address = new URL(location.href);
  address.search = `?done=${holds === "open" ? "back" : "kept"}`;
  address.hash = `#${next}`;
  history.replaceState(null, "", address);
  location.reload();
}

if (location.hash.length > 1) document.getElementById(location.hash.slice(1))?.focus({ preventScroll: false });
