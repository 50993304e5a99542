// A ring over a picture: put where the place is by touch or by keys, drawn over it and never into it.

import { button, row, text } from "/static/workbench.js";

const FIRST = 0.1;
const LEAST = 0.01;
const MOST = 0.5;
const STEP = 0.02;
const GROW = 1.15;
const KEYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const between = (low, value, high) => Math.min(Math.max(value, low), high);
const share = (value) => Math.round(100 * value);

/**
 * Let a figure's place be ringed. `keep` is given the circle, or null where it is taken away, and gives true once it is
 * safe; circles are in shares of the upright picture, the radius of its width.
 */
export function ringable(figure, keep) {
  const over = figure.querySelector(".over");
  const svg = figure.querySelector(".ring");
  const begin = figure.querySelector("[data-ring]");
  const { width, height } = svg.viewBox.baseVal;
  let kept = "x" in figure.dataset ? { x: Number(figure.dataset.x), y: Number(figure.dataset.y), radius: Number(figure.dataset.radius) } : null;
  let circle = null;
  let controls = null;

  function draw(one) {
    svg.replaceChildren(...(one ? ["under", "line"] : []).map((name) => {
      const made = document.createElementNS("http://www.w3.org/2000/svg", "circle");
      made.setAttribute("class", name);
      made.setAttribute("cx", one.x * width);
      made.setAttribute("cy", one.y * height);
      made.setAttribute("r", one.radius * width);
      return made;
    }));
  }

  function put({ x, y, radius }) {
    circle = { x: between(0, x, 1), y: between(0, y, 1), radius: between(LEAST, radius, MOST) };
    draw(circle);
    controls.querySelector("p").textContent = `${share(circle.x)} % from the left, ${share(circle.y)} % from the top, ${share(2 * circle.radius)} % of the width across`;
  }

  function end() {
    over.removeEventListener("keydown", pressed);
    over.removeEventListener("pointerdown", touched);
    for (const name of ["role", "tabindex", "aria-label"]) over.removeAttribute(name);
    figure.classList.remove("ringing");
    controls.remove();
    draw(kept);
    begin.hidden = false;
    begin.textContent = kept ? "Move the ring" : "Ring the place";
    begin.focus();
  }

  async function decide(one) {
    if (!(await keep(one))) return;
    kept = one;
    end();
  }

  function pressed(event) {
    if (event.target !== over || event.ctrlKey || event.metaKey || event.altKey) return;
    // No key that means something to the page counts while the ring is being put.
    event.stopPropagation();
    const way = KEYS[event.key];
    const step = event.shiftKey ? STEP / 4 : STEP;
    if (way) put({ ...circle, x: circle.x + step * way[0], y: circle.y + step * way[1] * width / height });
    else if (event.key === "+" || event.key === "=") put({ ...circle, radius: circle.radius * GROW });
    else if (event.key === "-" || event.key === "_") put({ ...circle, radius: circle.radius / GROW });
    else if (event.key === "Enter") decide(circle);
    else if (event.key === "Escape") end();
    else return;
    event.preventDefault();
  }

  // Where the finger comes down is the middle; drawn outwards from there, the ring grows with it.
  function touched(event) {
    if (event.button !== 0) return;
    event.preventDefault();
    over.focus();
    const box = svg.getBoundingClientRect();
    const at = (one) => ({ x: (one.clientX - box.left) / box.width, y: (one.clientY - box.top) / box.height });
    const middle = at(event);
    put({ ...circle, ...middle });
    over.setPointerCapture(event.pointerId);
    const moved = (one) => {
      const far = Math.hypot(one.clientX - event.clientX, one.clientY - event.clientY);
      if (far > 12) put({ ...circle, radius: far / box.width });
    };
    over.addEventListener("pointermove", moved);
    for (const name of ["pointerup", "pointercancel"]) over.addEventListener(name, () => over.removeEventListener("pointermove", moved), { once: true });
  }

  begin.addEventListener("click", () => {
    begin.hidden = true;
    figure.classList.add("ringing");
    controls = row("div", [
      text("p", "", "soft"),
      button("Smaller", () => put({ ...circle, radius: circle.radius / GROW })),
      button("Larger", () => put({ ...circle, radius: circle.radius * GROW })),
      Object.assign(button("Keep the ring", () => decide(circle)), { className: "main" }),
      button("Leave it", end),
      ...(kept ? [button("Take the ring away", () => decide(null))] : []),
    ]);
    controls.className = "controls";
    controls.firstChild.setAttribute("role", "status");
    over.after(controls);
    over.tabIndex = 0;
    over.setAttribute("role", "application");
    over.setAttribute("aria-label", "The ring. Touch the place, or: arrow keys move it, plus and minus size it, Enter keeps it, Escape leaves it.");
    over.addEventListener("keydown", pressed);
    over.addEventListener("pointerdown", touched);
    put(kept ?? { x: 0.5, y: 0.5, radius: FIRST });
    over.focus();
  });
  begin.disabled = false;
}
