// The Plan in the page: each part a thing to press, reached by arrow keys, with what is spoken of lit on it.

/** Open the Plan; answers to a pressed part, pin or strand of the thread. `tell` says of a part what its name lacks. */
export function openPlan(svg, { tell, choosePart, choosePin, jump, calm, prefix = "plan-" }) {
  const parts = [...svg.querySelectorAll("[data-part]")].filter((part) => part.id.startsWith(prefix));
  const byKey = new Map(parts.map((part) => [part.id.slice(prefix.length), part]));
  const pins = new Map();
  for (const pin of svg.querySelectorAll("[data-pin]")) {
    const number = pin.dataset.pin;
    pins.set(number, [...(pins.get(number) ?? []), pin]);
  }
  const strands = [...svg.querySelectorAll(".thread path[data-start]")];
  const visits = stays(strands);
  const axes = [...svg.querySelectorAll(".thread > [data-length]")].map(openAxis);
  let middles = null;
  let shown = [];
  let picked = [];

  for (const part of parts) {
    const key = part.id.slice(prefix.length);
    const name = part.querySelector("title").textContent;
    part.setAttribute("role", "button");
    part.setAttribute("tabindex", "-1");
    part.setAttribute("aria-pressed", "false");
    part.setAttribute("aria-label", `${name}: ${tell(key)}`);
  }
  parts[0]?.setAttribute("tabindex", "0");
  // Every pin is a finding of the list as well: one way by keys is enough.
  for (const link of svg.querySelectorAll("a")) link.setAttribute("tabindex", "-1");

  /** Count the stays of the walk: a stay at two places has two strands with one time. */
  function stays(own) {
    const seen = new Map();
    return own.map((strand) => {
      const times = `${strand.dataset.start} ${strand.dataset.end} ${strand.dataset.part}`;
      if (!seen.has(times)) seen.set(times, seen.size);
      return seen.get(times);
    });
  }

  /** Put the present moment on a time axis, and let it be pressed. */
  function openAxis(fall) {
    const [left, right, length] = [fall.dataset.left, fall.dataset.right, fall.dataset.length].map(Number);
    const ground = document.createElementNS(svg.namespaceURI, "rect");
    for (const [name, value] of [["x", left], ["y", 4], ["width", right - left], ["height", 44], ["class", "axis"]]) {
      ground.setAttribute(name, value);
    }
    const marker = document.createElementNS(svg.namespaceURI, "path");
    marker.setAttribute("class", "present");
    fall.append(ground, marker);
    ground.addEventListener("click", (event) => {
      const box = ground.getBoundingClientRect();
      jump(Math.max(0, Math.min(1, (event.clientX - box.left) / box.width)) * length);
    });
    return (at) => {
      const x = left + (right - left) * Math.min(at / length, 1);
      marker.setAttribute("d", `M${x.toFixed(1)} 7l-6 -9h12zm0 32v-9`);
    };
  }

  function press(part) {
    focusOn(part);
    choosePart(part.id.slice(prefix.length), part.querySelector("title").textContent);
  }

  function focusOn(part) {
    for (const other of parts) if (other.getAttribute("tabindex") === "0") other.setAttribute("tabindex", "-1");
    part.setAttribute("tabindex", "0");
  }

  /** Find the nearest part in a direction, one straight ahead before one aside. */
  function beyond(part, dx, dy) {
    middles ??= new Map(parts.map((one) => {
      const box = one.getBoundingClientRect();
      const origin = svg.getBoundingClientRect();
      return [one, [box.left + box.width / 2 - origin.left, box.top + box.height / 2 - origin.top]];
    }));
    const [x, y] = middles.get(part);
    let best = null;
    let least = Infinity;
    for (const [other, [ox, oy]] of middles) {
      const ahead = (ox - x) * dx + (oy - y) * dy;
      const aside = Math.abs((ox - x) * dy + (oy - y) * dx);
      if (other === part || ahead < 1) continue;
      const cost = ahead + 2.5 * aside;
      if (cost < least) [best, least] = [other, cost];
    }
    return best;
  }

  svg.addEventListener("click", (event) => {
    const pin = event.target.closest("[data-pin]");
    const strand = event.target.closest("path[data-start]");
    const part = event.target.closest("[role=button]");
    if (pin) {
      event.preventDefault();
      choosePin(pin.dataset.pin);
    } else if (strand) {
      jump(Number(strand.dataset.start));
    } else if (part) {
      press(part);
    }
  });
  svg.addEventListener("keydown", (event) => {
    const part = event.target.closest("[role=button]");
    if (!part) return;
    const ways = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] };
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      press(part);
    } else if (ways[event.key]) {
      event.preventDefault();
      const next = beyond(part, ...ways[event.key]);
      if (next) {
        focusOn(next);
        next.focus({ preventScroll: false });
      }
    }
  });
  addEventListener("resize", () => { middles = null; });

  /** In the closer view, keep what is spoken of in sight. */
  function keepInSight(element) {
    const sheet = svg.parentElement;
    if (!element || sheet.scrollWidth <= sheet.clientWidth + 1) return;
    const box = element.getBoundingClientRect();
    const frame = sheet.getBoundingClientRect();
    if (box.left >= frame.left + 40 && box.right <= frame.right - 40) return;
    const left = sheet.scrollLeft + box.left + box.width / 2 - frame.left - frame.width / 2;
    sheet.scrollTo({ left, behavior: calm.matches ? "auto" : "smooth" });
  }

  return {
    /** Light what is spoken of now. */
    show({ at, keys, strands: now, pins: numbers }) {
      for (const axis of axes) axis(at);
      const wanted = [...keys].map((key) => byKey.get(key)).filter(Boolean);
      for (const number of numbers) wanted.push(...(pins.get(number) ?? []));
      strands.forEach((strand, index) => { if (now.has(visits[index])) wanted.push(strand); });
      if (wanted.length === shown.length && wanted.every((element, index) => element === shown[index])) return;
      for (const element of shown) element.classList.remove("now");
      for (const element of wanted) element.classList.add("now");
      shown = wanted;
      keepInSight(wanted[0]);
    },
    /** Mark what was chosen. */
    choose(keys, number) {
      for (const element of picked) {
        element.classList.remove("chosen");
        if (element.hasAttribute("aria-pressed")) element.setAttribute("aria-pressed", "false");
      }
      picked = [...keys].map((key) => byKey.get(key)).filter(Boolean);
      for (const element of picked) element.setAttribute("aria-pressed", "true");
      if (number !== null) picked.push(...(pins.get(number) ?? []));
      for (const element of picked) element.classList.add("chosen");
      keepInSight(picked[0]);
    },
    /** Leave out the room that the thread has above the sheet. */
    bare(without) {
      svg.dataset.whole ??= svg.getAttribute("viewBox");
      const [left, top, width, height] = svg.dataset.whole.split(" ").map(Number);
      const box = without ? [left, 0, width, height + top] : [left, top, width, height];
      svg.setAttribute("viewBox", box.join(" "));
      svg.setAttribute("height", box[3]);
      middles = null;
    },
    /** Put crosses on what nobody has spoken of. */
    quiet(keys) {
      for (const part of parts) {
        const shape = part.tagName === "g" ? part.querySelector("path") : part;
        if (shape && "plain" in shape.dataset) {
          if (shape.dataset.plain) shape.setAttribute("fill", shape.dataset.plain);
          else shape.removeAttribute("fill");
          delete shape.dataset.plain;
        }
      }
      for (const key of keys) {
        const part = byKey.get(key);
        const shape = part?.tagName === "g" ? part.querySelector("path") : part;
        if (!shape) continue;
        shape.dataset.plain = shape.getAttribute("fill") ?? "";
        shape.setAttribute("fill", `url(#${prefix}crosses)`);
      }
    },
  };
}
