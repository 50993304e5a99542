// Places on a picture: picked, pulled, moved by keys or typed; what they come to is worked out by the workbench.
import { ask, tell, tellTrouble } from "/static/workbench.js";

const form = document.querySelector(".measuring");
if (form) measuring(form);

function measuring(form) {
  const paper = form.querySelector(".picks");
  const [lines, marks, cross] = [".lines", ".marks", ".cross"].map((name) => paper?.querySelector(name));
  const wide = Number(form.dataset.width);
  const high = Number(form.dataset.height);
  const groups = { places: [], beside: [], grey: [], chart: [] };
  const at = { x: wide / 2, y: high / 2 };
  const pick = form.querySelector("#pick");
  let pickTouched = false;
  let pulled = null;

  const kind = () => form.querySelector('input[name="kind"]:checked').value;
  const group = () => (kind() === "colour" ? form.querySelector('input[name="group"]:checked').value : "places");
  const shown = () => (kind() === "colour" ? Object.keys(groups) : ["places"]);
  const scale = () => wide / Math.max(1, paper.getBoundingClientRect().width);
  const within = ({ x, y }) => ({ x: Math.min(Math.max(x, 0), wide), y: Math.min(Math.max(y, 0), high) });
  const field = (name) => form.querySelector(`#typed-${name}`);
  const number = (text) => Number(text.trim().replace(",", "."));

  const make = (name, values) => {
    const made = document.createElementNS(paper.namespaceURI, name);
    for (const [key, value] of Object.entries(values)) made.setAttribute(key, value);
    return made;
  };

  // How surely a place is picked follows from how large a dot of the screen is on the picture, unless somebody says.
  const doubt = () => {
    if (pick && !pickTouched) pick.value = Math.max(1, 1.5 * scale()).toFixed(1);
  };

  const draw = (focus = null) => {
    if (!paper) return;
    const size = scale();
    lines.replaceChildren();
    marks.replaceChildren();
    for (const name of shown()) {
      const places = groups[name];
      const closed = kind() !== "length" && places.length > 2;
      const way = places.map(({ x, y }) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L");
      if (places.length > 1) {
        for (const ink of ["", " ink"]) lines.append(make("path", { d: `M${way}${closed ? "z" : ""}`, class: `${name}${ink}` }));
      }
      places.forEach((place, index) => {
        const words = { places: "Place", beside: "The other side, place", grey: "Grey card, place", chart: "Chart, field" }[name];
        const told = `${words} ${index + 1}, ${Math.round(place.x)} across, ${Math.round(place.y)} down`;
        const pin = make("g", { class: `pin${name === group() ? " now" : ""}`, tabindex: 0, role: "button", "aria-label": told });
        pin.append(make("circle", { cx: place.x, cy: place.y, r: 9 * size }), make("circle", { cx: place.x, cy: place.y, r: 9 * size }));
        const label = make("text", { x: place.x + 12 * size, y: place.y - 10 * size, "stroke-width": 4 * size });
        // The size of letters is of the picture, not of the screen: given as an attribute of the drawing.
        label.setAttribute("transform", `translate(${place.x + 12 * size} ${place.y - 10 * size}) scale(${16 * size})`);
        label.setAttribute("x", 0);
        label.setAttribute("y", 0);
        label.setAttribute("stroke-width", 0.25);
        label.textContent = String(index + 1);
        pin.append(label);
        pin.dataset.group = name;
        pin.dataset.index = index;
        marks.append(pin);
      });
    }
    const reach = 16 * size;
    cross.setAttribute("d", `M${at.x - reach} ${at.y}h${2 * reach}M${at.x} ${at.y - reach}v${2 * reach}`);
    if (focus) (marks.querySelector(`[data-group="${focus.name}"][data-index="${focus.index}"]`) ?? paper).focus();
  };

  const type = () => {
    for (const [name, places] of Object.entries(groups)) {
      if (field(name)) field(name).value = places.map(({ x, y }) => `${(x - 0.5).toFixed(1)}, ${(y - 0.5).toFixed(1)}`).join("\n");
    }
  };

  const changed = (focus = null) => {
    form.querySelector(".result").hidden = true;
    type();
    draw(focus);
  };

  const add = (place) => {
    const name = group();
    groups[name].push(within(place));
    doubt();
    changed();
    tell(`Place ${groups[name].length} picked`);
  };

  const spot = (event) => {
    const sheet = paper.getBoundingClientRect();
    return { x: ((event.clientX - sheet.left) / sheet.width) * wide, y: ((event.clientY - sheet.top) / sheet.height) * high };
  };

  paper?.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    const pin = event.target.closest(".pin");
    pulled = { pin: pin && { name: pin.dataset.group, index: Number(pin.dataset.index) }, from: spot(event), moved: false };
    if (pin) {
      paper.setPointerCapture(event.pointerId);
      pin.focus();
      event.preventDefault();
    }
  });
  paper?.addEventListener("pointermove", (event) => {
    if (!pulled) return;
    const there = spot(event);
    pulled.moved ||= Math.hypot(there.x - pulled.from.x, there.y - pulled.from.y) > 4 * scale();
    if (!pulled.pin || !pulled.moved) return;
    groups[pulled.pin.name][pulled.pin.index] = within(there);
    draw(pulled.pin);
  });
  paper?.addEventListener("pointerup", (event) => {
    const was = pulled;
    pulled = null;
    if (!was) return;
    if (was.pin) changed(was.pin);
    else if (!was.moved) add(spot(event));
  });
  paper?.addEventListener("pointercancel", () => { pulled = null; });

  paper?.addEventListener("keydown", (event) => {
    const pin = event.target.closest(".pin");
    const step = (event.shiftKey ? 20 : 2) * scale();
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    if (ways[event.key]) {
      const [x, y] = ways[event.key];
      event.preventDefault();
      if (pin) {
        const { group: name, index } = pin.dataset;
        const place = groups[name][index];
        groups[name][index] = within({ x: place.x + x * step, y: place.y + y * step });
        changed({ name, index });
      } else {
        Object.assign(at, within({ x: at.x + x * step, y: at.y + y * step }));
        draw();
      }
    } else if (pin && (event.key === "Delete" || event.key === "Backspace")) {
      event.preventDefault();
      const { group: name, index } = pin.dataset;
      groups[name].splice(Number(index), 1);
      changed({ name, index: Math.max(0, Number(index) - 1) });
    } else if (!pin && (event.key === "Enter" || event.key === " ")) {
      event.preventDefault();
      add({ ...at });
    }
  });

  for (const name of Object.keys(groups)) {
    field(name)?.addEventListener("input", () => {
      groups[name] = field(name).value.split("\n").map((line) => line.match(/-?\d+(?:\.\d+)?/g)?.map(Number))
        .filter((pair) => pair?.length === 2).map(([x, y]) => within({ x: x + 0.5, y: y + 0.5 }));
      form.querySelector(".result").hidden = true;
      draw();
    });
  }
  pick?.addEventListener("input", () => { pickTouched = true; });
  form.querySelector(".last")?.addEventListener("click", () => { groups[group()].pop(); changed(); });
  form.querySelector(".clear")?.addEventListener("click", () => { for (const name of Object.keys(groups)) groups[name] = []; changed(); });
  for (const one of form.querySelectorAll('[name="kind"], [name="group"], #on-picture')) one.addEventListener("change", turn);
  for (const one of form.querySelectorAll(".scale input, .labs input")) one.addEventListener("input", () => changed());

  function turn() {
    for (const each of form.querySelectorAll("[data-for]")) each.hidden = !each.dataset.for.split(" ").includes(kind());
    const sheet = form.querySelector(".on-picture");
    if (sheet && kind() === "blisters" && !form.querySelector("#on-picture").checked) sheet.hidden = true;
    for (const name of ["beside", "grey", "chart"]) {
      const typed = form.querySelector(`[data-group="${name}"].group`);
      if (typed) typed.hidden = kind() !== "colour";
    }
    changed();
  }

  const share = ({ x, y }) => [Math.min(x / wide, 1), Math.min(y / high, 1)];
  const value = (id) => form.querySelector(`#${id}`).value;
  const onPicture = () => Boolean(paper) && kind() !== "colours" && (kind() !== "blisters" || form.querySelector("#on-picture").checked);

  // L*, a* and b* out of one field: three figures, whatever stands between them.
  const colour = (id) => {
    const found = value(id).replaceAll("\u2212", "-").match(/-?\d+(?:\.\d+)?/g)?.map(Number) ?? [];
    if (found.length === 3) return found;
    form.querySelector(`#${id}`).focus();
    throw new Error("Give L*, a* and b*: three figures, with a point for decimals.");
  };

  const picked = () => {
    const what = kind();
    const sent = { what, places: onPicture() ? groups.places.map(share) : [] };
    if (what === "colour") {
      for (const name of ["beside", "grey", "chart"]) sent[name] = groups[name].map(share);
      if (value("grey-lab").trim()) sent.grey_lab = colour("grey-lab");
    } else if (what === "blisters") {
      const rating = form.querySelector('[name="rating"]:checked');
      if (rating) [sent.density, sent.size] = rating.value.split(",").map(Number);
    } else if (what === "colours") {
      Object.assign(sent, { lab: colour("lab"), lab_beside: colour("lab-beside") });
      if (value("lab-uncertainty").trim()) sent.lab_uncertainty = number(value("lab-uncertainty"));
    } else if (what !== "rust") {
      if (value("ruler").trim()) sent.ruler_mm = number(value("ruler"));
      if (value("pick").trim()) sent.pick_px = number(value("pick"));
    }
    return sent;
  };

  const send = async (keep) => {
    let asked;
    try {
      asked = picked();
    } catch (error) {
      tell(error.message);
      return null;
    }
    const buttons = form.querySelectorAll("button");
    for (const button of buttons) button.disabled = true;
    try {
      const body = { picture: onPicture() ? form.dataset.picture : "", picked: asked, keep };
      return await ask(form.dataset.post, { method: "POST", body });
    } catch (error) {
      tellTrouble(error);
      return null;
    } finally {
      for (const button of buttons) button.disabled = false;
    }
  };

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const made = await send(null);
    if (made) show(made);
  });

  form.querySelector(".keep-it").addEventListener("click", async () => {
    if (!value("part")) {
      tell("Choose the part that it is of.");
      form.querySelector("#part").focus();
      return;
    }
    const keep = Object.fromEntries(["part", "side", "position", "spot"].map((name) => [name, value(name)]));
    if (await send(keep)) location.reload();
  });

  function show(made) {
    const result = form.querySelector(".result");
    result.querySelector(".sentence").textContent = made.sentence;
    const beside = result.querySelector(".beside-it");
    beside.replaceChildren();
    for (const [name, told] of Object.entries(made.more)) {
      const [term, said] = ["dt", "dd"].map((tag) => document.createElement(tag));
      term.textContent = name;
      said.textContent = String(told);
      beside.append(term, said);
    }
    result.querySelector(".cautions").replaceChildren(...made.cautions.map((words) => {
      const line = document.createElement("li");
      line.textContent = words;
      return line;
    }));
    result.querySelector(".use").textContent = `${made.good_for} ${made.who_decides}`;
    result.querySelector(".keep").hidden = !made.told;
    result.hidden = false;
    result.querySelector("h2").focus();
  }

  addEventListener("resize", () => draw());
  doubt();
  turn();
}
