// The survey: a place that is touched on the Plan tells what it stands on, and leads to its line in the list.

import { openPlan } from "/static/car_plan.js";

const spots = JSON.parse(document.getElementById("spots").textContent);
const here = document.getElementById("here");
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const plans = [...document.querySelectorAll("#sheet svg")].map((svg) => {
  const prefix = svg.classList.contains("folded") ? "folded-" : "strip-";
  return openPlan(svg, {
    prefix,
    calm,
    tell: (key) => spots[key]?.word ?? "not asked for",
    choosePart: choose,
    choosePin: () => {},
    jump: () => {},
  });
});

function choose(key, name) {
  for (const plan of plans) plan.choose(new Set([key]), null);
  const spot = spots[key];
  const heading = document.createElement("p");
  heading.className = "place";
  heading.append(made("strong", capital(spot?.name ?? name)), ` ${spot?.word ?? "not asked for, and nothing was said of it"}`);
  const lines = (spot?.lines ?? []).map(([what, words, entry]) => {
    const line = made("li", `${capital(what)}. `);
    line.append(made("span", `${capital(words)}. `));
    if (entry) {
      const link = made("a", "In the list");
      link.href = `#${entry}`;
      line.append(link);
    }
    return line;
  });
  const list = made("ul", "");
  list.append(...lines);
  here.replaceChildren(heading, ...(lines.length ? [list] : []));
  here.hidden = false;
}

function made(tag, words) {
  const element = document.createElement(tag);
  element.textContent = words;
  return element;
}

function capital(words) {
  return words.slice(0, 1).toUpperCase() + words.slice(1);
}

// A form that is opened is filled in next.
for (const out of document.querySelectorAll("details.out")) {
  out.addEventListener("toggle", () => { if (out.open) out.querySelector("input[name=reason]").focus(); });
}
