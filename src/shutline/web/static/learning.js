// What was learnt: moves are ticked and accepted; what came too late is told in its place, with a way to look again.

import { Refused, ask, goTo, tell, tellTrouble, text } from "/static/workbench.js";

const KEPT = "shutline.learnt";
const form = document.getElementById("moves");

const kept = sessionStorage.getItem(KEPT);
if (kept) {
  sessionStorage.removeItem(KEPT);
  tell(kept);
}

if (form) {
  const boxes = [...form.querySelectorAll("[name='move']")];
  const ticked = document.getElementById("ticked");
  const all = document.getElementById("all");
  const said = form.querySelector(".refused");
  const ready = () => {
    ticked.disabled = !boxes.some((box) => box.checked);
    if (all) all.disabled = false;
  };

  const accept = async (moves) => {
    said.hidden = true;
    ticked.disabled = true;
    if (all) all.disabled = true;
    try {
      const done = await ask("/learning/accept", { method: "POST", body: { moves, expected: form.elements.expected.value } });
      sessionStorage.setItem(KEPT, done.moves.length === 1 ? "It is accepted." : `${done.moves.length} are accepted.`);
      goTo("/learning");
    } catch (error) {
      if (error instanceof Refused && error.problem) {
        const { where, found, advice } = error.problem;
        const again = text("a", "Look again");
        again.href = "/learning";
        said.replaceChildren(text("p", `${where}: ${found}; nothing was written. ${advice}`), again);
        said.hidden = false;
        again.focus();
      } else tellTrouble(error);
      ready();
    }
  };

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const chosen = boxes.filter((box) => box.checked).map((box) => box.value);
    if (chosen.length) accept(chosen);
  });
  all?.addEventListener("click", () => accept(boxes.map((box) => box.value)));
  for (const box of boxes) {
    box.disabled = false;
    box.addEventListener("change", ready);
  }
  ready();
}
