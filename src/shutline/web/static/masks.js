// Covers on a picture: pulled with the mouse or a finger, moved and sized by keys, drawn, confirmed and struck.
import { ask, tell, tellTrouble } from "/static/workbench.js";

const WHOLE = 1000;
const LEAST = 8;
const STEP = 5;
const SETTLE_MS = 700;

const table = document.querySelector(".table");
const base = `${location.pathname}`;

/** Load the page anew and keep the place: what is kept is what the server shows. */
function again(id = "") {
  const there = new URL(location.href);
  there.hash = id ? `cover-${id}` : "";
  if (there.href === location.href) location.reload();
  else {
    history.replaceState(null, "", there);
    location.reload();
  }
}

async function decide(id, version, action, more = {}) {
  try {
    await ask(`${base}/decide`, { method: "POST", body: { id, version, action, ...more } });
    again(id);
  } catch (error) {
    tellTrouble(error);
  }
}

for (const item of document.querySelectorAll(".list li[data-id]")) {
  for (const button of item.querySelectorAll("button[data-action]")) {
    button.addEventListener("click", () => {
      const cover = document.querySelector(`.cover[data-id="${item.dataset.id}"]`);
      decide(item.dataset.id, Number((cover ?? item).dataset.version), button.dataset.action);
    });
  }
}

if (table) covers(table);
looks(document.querySelector(".looking"));

function covers(table) {
  const paper = table.querySelector(".covers");
  const at = Number(table.dataset.at);
  let pulled = null;

  const place = (cover) => {
    const body = cover.querySelector(".body");
    const read = (name) => Number(body.getAttribute(name));
    return { x: read("x"), y: read("y"), width: read("width"), height: read("height") };
  };

  const lay = (cover, { x, y, width, height }) => {
    width = Math.min(Math.max(width, LEAST), WHOLE);
    height = Math.min(Math.max(height, LEAST), WHOLE);
    x = Math.min(Math.max(x, 0), WHOLE - width);
    y = Math.min(Math.max(y, 0), WHOLE - height);
    const body = cover.querySelector(".body");
    for (const [name, value] of Object.entries({ x, y, width, height })) body.setAttribute(name, value.toFixed(2));
    const corner = cover.querySelector(".corner");
    corner.setAttribute("x", (x + width - 12).toFixed(2));
    corner.setAttribute("y", (y + height - 16).toFixed(2));
  };

  const edges = ({ x, y, width, height }) =>
    [x, y, x + width, y + height].map((edge) => Math.min(Math.max(edge / WHOLE, 0), 1));

  const keep = (cover) => {
    decide(cover.dataset.id, Number(cover.dataset.version), "amend", { box: edges(place(cover)), at_s: at });
  };

  const draw = async (where) => {
    const body = {
      source: table.dataset.source,
      kind: document.querySelector("#kind").value,
      way: [[at, ...edges(where)]],
      token: crypto.randomUUID?.() ?? `${Date.now()}-${Math.random()}`,
    };
    try {
      const done = await ask(`${base}/draw`, { method: "POST", body });
      again(done.mask.id);
    } catch (error) {
      tellTrouble(error);
    }
  };

  const spot = (event) => {
    const sheet = paper.getBoundingClientRect();
    return {
      x: Math.min(Math.max(((event.clientX - sheet.left) / sheet.width) * WHOLE, 0), WHOLE),
      y: Math.min(Math.max(((event.clientY - sheet.top) / sheet.height) * WHOLE, 0), WHOLE),
    };
  };

  paper.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    const cover = event.target.closest(".cover");
    if (cover?.dataset.state === "struck") return;
    pulled = { from: spot(event), cover, box: cover && place(cover), size: event.target.matches(".corner"), moved: false };
    if (!cover) {
      pulled.cover = document.createElementNS(paper.namespaceURI, "g");
      pulled.cover.setAttribute("class", "cover stands new");
      for (const name of ["body", "corner"]) {
        const rect = document.createElementNS(paper.namespaceURI, "rect");
        rect.setAttribute("class", name);
        rect.setAttribute("width", "12");
        rect.setAttribute("height", "16");
        pulled.cover.append(rect);
      }
    }
    paper.setPointerCapture(event.pointerId);
    cover?.focus();
    event.preventDefault();
  });

  paper.addEventListener("pointermove", (event) => {
    if (!pulled) return;
    const { x, y } = spot(event);
    const [right, down] = [x - pulled.from.x, y - pulled.from.y];
    if (!pulled.moved && Math.hypot(right, down) < LEAST / 2) return;
    pulled.moved = true;
    if (!pulled.box) {
      if (!pulled.cover.isConnected) paper.append(pulled.cover);
      lay(pulled.cover, {
        x: Math.min(x, pulled.from.x),
        y: Math.min(y, pulled.from.y),
        width: Math.abs(right),
        height: Math.abs(down),
      });
    } else if (pulled.size) {
      const box = pulled.box;
      lay(pulled.cover, {
        ...box,
        width: Math.min(box.width + right, WHOLE - box.x),
        height: Math.min(box.height + down, WHOLE - box.y),
      });
    } else {
      lay(pulled.cover, { ...pulled.box, x: pulled.box.x + right, y: pulled.box.y + down });
    }
  });

  paper.addEventListener("pointerup", () => {
    const done = pulled;
    pulled = null;
    if (!done?.moved) return;
    if (done.box) keep(done.cover);
    else draw(place(done.cover));
  });

  paper.addEventListener("pointercancel", () => {
    if (pulled?.box) lay(pulled.cover, pulled.box);
    else pulled?.cover.remove();
    pulled = null;
  });

  for (const cover of paper.querySelectorAll(".cover")) {
    let settling = 0;
    const soon = () => {
      clearTimeout(settling);
      settling = setTimeout(() => keep(cover), SETTLE_MS);
    };
    cover.addEventListener("blur", () => {
      if (settling) {
        clearTimeout(settling);
        settling = 0;
        keep(cover);
      }
    });
    cover.addEventListener("keydown", (event) => {
      const struck = cover.dataset.state === "struck";
      const version = Number(cover.dataset.version);
      const pull = { ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0], ArrowUp: [0, -STEP], ArrowDown: [0, STEP] }[event.key];
      if (pull && !struck) {
        const box = place(cover);
        const [right, down] = pull;
        if (event.shiftKey) {
          lay(cover, {
            ...box,
            width: Math.min(box.width + right, WHOLE - box.x),
            height: Math.min(box.height + down, WHOLE - box.y),
          });
        } else {
          lay(cover, { ...box, x: box.x + right, y: box.y + down });
        }
        soon();
      } else if (event.key === "Delete" && !struck) {
        clearTimeout(settling);
        settling = 0;
        decide(cover.dataset.id, version, "strike");
      } else if (event.key === "Enter" || event.key === " ") {
        if (settling) return;
        if (cover.dataset.state !== "stands") decide(cover.dataset.id, version, struck ? "restore" : "confirm");
      } else {
        return;
      }
      event.preventDefault();
    });
  }

  table.querySelector(".draw").addEventListener("click", () => {
    draw({ x: 420, y: 420, width: 160, height: 160 });
  });

  // After a change the page is loaded anew: the keys go on where they were.
  const kept = location.hash.startsWith("#cover-") ? location.hash.slice(7) : "";
  if (kept) [...paper.querySelectorAll(".cover")].find((cover) => cover.dataset.id === kept)?.focus();
}

function looks(holder) {
  const progress = holder.querySelector(".progress");
  const words = holder.querySelector("#looking-words");
  const button = holder.querySelector(".look");
  const follow = async () => {
    button.disabled = true;
    progress.hidden = false;
    try {
      for (;;) {
        const { looking } = await ask(holder.dataset.now);
        if (!looking || looking.ended) break;
        progress.querySelector("progress").value = looking.done;
        words.textContent = looking.at ? `Looking at ${looking.at}` : "Looking";
        await new Promise((done) => setTimeout(done, 700));
      }
      again();
    } catch (error) {
      button.disabled = false;
      tellTrouble(error);
    }
  };
  button.addEventListener("click", async () => {
    try {
      const films = holder.querySelector(".films").checked;
      await ask(holder.dataset.look, { method: "POST", body: { films } });
      tell("Looking through the pictures.");
      follow();
    } catch (error) {
      tellTrouble(error);
    }
  });
  progress.querySelector(".stop").addEventListener("click", async () => {
    try {
      await ask(holder.dataset.stop, { method: "POST", body: {} });
      tell("It stops at the next good moment; what is done is kept.");
    } catch (error) {
      tellTrouble(error);
    }
  });
  if ("going" in holder.dataset) follow();
}
