// Pictures taken by hand: placed by choosing or dragging, tied to findings; contact sheets are made when looked at.
import { ask, tell, tellTrouble } from "/static/workbench.js";

const base = location.pathname;
const names = new Map([...document.querySelectorAll("#places option")].map((one) => [one.value.toLowerCase(), one.value]));

/** Load the page anew and come back to the picture: what is kept is what the server shows. */
function again(picture) {
  sessionStorage.setItem("picture", picture);
  location.reload();
}

async function send(item, what, body) {
  try {
    await ask(`${base}/${what}`, { method: "POST", body: { picture: item.dataset.picture, ...body } });
    again(item.dataset.picture);
  } catch (error) {
    tellTrouble(error);
  }
}

const place = (item, where) => send(item, "place", { place: where, version: Number(item.dataset.version) });

for (const item of document.querySelectorAll(".by-hand")) {
  const of = item.querySelector(".of");
  const say = () => {
    const asked = of.value.trim();
    if (asked && !names.has(asked.toLowerCase())) {
      tell(`There is no place called ${asked}. Choose one of the list.`);
      of.focus();
      return;
    }
    place(item, asked || null);
  };
  item.querySelector(".set").addEventListener("click", say);
  of.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); say(); } });
  for (const button of item.querySelectorAll(".take")) {
    button.addEventListener("click", () => place(item, button.dataset.place));
  }
  for (const button of item.querySelectorAll(".no-longer")) {
    button.addEventListener("click", () => send(item, "shows", { finding: button.dataset.finding, version: Number(button.dataset.version), shows: false }));
  }
  item.querySelector(".show")?.addEventListener("click", () => {
    const chosen = item.querySelector(".shows").selectedOptions[0];
    if (!chosen?.value) {
      tell("Choose the finding that it shows.");
      return;
    }
    send(item, "shows", { finding: chosen.value, version: Number(chosen.dataset.version), shows: true });
  });
  item.addEventListener("dragstart", (event) => event.dataTransfer.setData("text/shutline-picture", item.dataset.picture));
}

for (const part of document.querySelectorAll(".part")) {
  const carries = (event) => event.dataTransfer.types.includes("text/shutline-picture");
  part.addEventListener("dragover", (event) => {
    if (!carries(event)) return;
    event.preventDefault();
    part.classList.add("over");
  });
  part.addEventListener("dragleave", () => part.classList.remove("over"));
  part.addEventListener("drop", (event) => {
    part.classList.remove("over");
    if (!carries(event)) return;
    event.preventDefault();
    const id = event.dataTransfer.getData("text/shutline-picture");
    const item = [...document.querySelectorAll(".by-hand")].find((one) => one.dataset.picture === id);
    if (item && item.dataset.place !== part.dataset.place) place(item, part.dataset.place);
  });
}

for (const sheet of document.querySelectorAll(".sheet")) {
  sheet.addEventListener("toggle", () => {
    const picture = sheet.querySelector("img");
    if (!sheet.open || picture.src) return;
    tell("The contact sheet is being made.");
    picture.addEventListener("error", () => tell("The contact sheet could not be made.", { lasting: true }), { once: true });
    picture.src = picture.dataset.src;
  });
}

const last = sessionStorage.getItem("picture");
if (last) {
  sessionStorage.removeItem("picture");
  const item = [...document.querySelectorAll(".by-hand")].find((one) => one.dataset.picture === last);
  item?.scrollIntoView({ block: "center" });
  // Whoever has gone on already, while the page came, is not pulled back.
  if (document.activeElement === document.body) item?.querySelector(".of")?.focus({ preventScroll: true });
  tell("Kept.");
}
