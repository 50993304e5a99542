// A paper as it would go out: let out, held back, or covered further by drawing over it or by figures.
import { ask, tellTrouble } from "/static/workbench.js";

const going = document.querySelector(".going");
const covers = JSON.parse(going.dataset.covers);

async function send(change) {
  try {
    await ask(going.dataset.let, { method: "POST", body: { version: Number(going.dataset.version), ...change } });
    location.reload();
  } catch (error) {
    tellTrouble(error);
  }
}

going.addEventListener("click", (event) => {
  const what = event.target.closest("button")?.dataset.do;
  if (what === "let") send({ mark: going.dataset.mark });
  else if (what === "hold") send({});
  else if (what === "uncover") send({ covers: [] });
});

const cover = (page, box) => send({ covers: [...covers, { page: Number(page), box }] });

for (const form of document.querySelectorAll(".cover")) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const of = (name) => Number(form.elements[name].value) / 100;
    cover(form.dataset.page, { left: of("left"), top: of("top"), width: of("width"), height: of("height") });
  });
}

for (const drawn of document.querySelectorAll(".drawn")) {
  let from = null;
  let svg = null;
  const at = (event) => {
    const box = drawn.getBoundingClientRect();
    const share = (value) => Math.min(1, Math.max(0, value));
    return [share((event.clientX - box.left) / box.width), share((event.clientY - box.top) / box.height)];
  };
  const boxTo = ([x, y]) => ({ left: Math.min(x, from[0]), top: Math.min(y, from[1]), width: Math.abs(x - from[0]), height: Math.abs(y - from[1]) });
  drawn.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "touch") return;
    event.preventDefault();
    drawn.setPointerCapture(event.pointerId);
    from = at(event);
    svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    svg.setAttribute("viewBox", "0 0 1 1");
    svg.setAttribute("preserveAspectRatio", "none");
    svg.append(document.createElementNS("http://www.w3.org/2000/svg", "rect"));
    drawn.append(svg);
  });
  drawn.addEventListener("pointermove", (event) => {
    if (!from) return;
    const box = boxTo(at(event));
    for (const [name, value] of Object.entries({ x: box.left, y: box.top, width: box.width, height: box.height })) svg.firstChild.setAttribute(name, value);
  });
  drawn.addEventListener("pointerup", (event) => {
    if (!from) return;
    const box = boxTo(at(event));
    from = null;
    svg.remove();
    if (box.width > 0.003 && box.height > 0.003) cover(drawn.dataset.page, box);
  });
  drawn.addEventListener("pointercancel", () => { from = null; svg?.remove(); });
}
