// The words of a recording: the spoken one lit, each of them a way to its moment, by mouse and by keys.

/** Open the words; `load` fetches the run that begins with a stretch, where it is not in the page yet. */
export function openWords(pane, { jump, choose, toggle, load }) {
  /** By its element, the start of each word of a stretch, seconds, and its words as elements once they are needed. */
  const known = new Map();
  let items = [];
  let gave = [];
  let lit = null;
  let place = null;
  let wanted = 0;

  function take() {
    items = [...pane.children];
    for (const element of items) {
      if (!element.dataset.steps && element.dataset.steps !== "" || known.has(element)) continue;
      let at = 0;
      const steps = element.dataset.steps ? element.dataset.steps.split(",") : [];
      known.set(element, { starts: steps.map((step) => (at += Number(step)) / 100), spans: null });
      element.querySelector(".at").title = `Go to ${element.querySelector(".at").textContent}`;
    }
    gave = [...pane.querySelectorAll("a.gave")];
    for (const link of gave) link.tabIndex = -1;
  }

  const coming = new Map();
  /** Put a run of the words where it belongs; gives its first and its last stretch. */
  function fetchRun(rest) {
    if (!coming.has(rest)) {
      coming.set(rest, load(rest.dataset.first).then((content) => {
        const own = [...content.querySelectorAll("p")];
        rest.replaceWith(...own);
        take();
        return [own[0], own[own.length - 1]];
      }).finally(() => coming.delete(rest)));
    }
    return coming.get(rest);
  }

  /** Give the words of a stretch as elements, made when they are first needed. */
  function spans(element) {
    const stretch = known.get(element);
    if (stretch.spans) return stretch.spans;
    stretch.spans = [];
    const walker = document.createTreeWalker(element.querySelector(".run"), NodeFilter.SHOW_TEXT);
    const texts = [];
    while (walker.nextNode()) texts.push(walker.currentNode);
    for (const text of texts) {
      const pieces = document.createDocumentFragment();
      for (const bit of text.data.split(/(\s+)/)) {
        if (!bit.trim()) {
          pieces.append(bit);
          continue;
        }
        const span = document.createElement("span");
        span.textContent = bit;
        span.dataset.word = stretch.spans.length;
        stretch.spans.push(span);
        pieces.append(span);
      }
      text.replaceWith(pieces);
    }
    return stretch.spans;
  }

  function light(element, word) {
    place = [element, word];
    const span = spans(element)[word];
    if (span === lit) return;
    lit?.classList.remove("lit");
    lit = span ?? null;
    lit?.classList.add("lit");
  }

  function dim() {
    lit?.classList.remove("lit");
    lit = null;
    place = null;
  }

  function scroll(element) {
    const box = pane.getBoundingClientRect();
    const own = element.getBoundingClientRect();
    if (own.top < box.top + 8 || own.bottom > box.bottom - box.height * 0.25) {
      pane.scrollTop += own.top - box.top - box.height * 0.3;
    }
  }

  function go(element, word) {
    const { starts } = known.get(element);
    if (starts.length) jump(starts[Math.max(0, Math.min(word, starts.length - 1))]);
  }

  /** Go to the next word, or the one before; into the next stretch where this one ends. */
  async function step(by) {
    if (!place) {
      const first = items.find((item) => known.get(item)?.starts.length);
      if (first) go(first, 0);
      return;
    }
    let [element, word] = place;
    word += by;
    while (element && !(word >= 0 && word < known.get(element).starts.length)) {
      let next = by > 0 ? element.nextElementSibling : element.previousElementSibling;
      if (next?.matches(".rest")) {
        const [first, last] = await fetchRun(next);
        next = by > 0 ? first : last;
      }
      element = next;
      if (element) word = by > 0 ? 0 : known.get(element).starts.length - 1;
    }
    if (element) go(element, word);
  }

  /** Go to the next finding that was spoken of, or the one before. */
  async function leap(by) {
    const from = lit?.closest("a.gave") ?? lit;
    const ahead = by > 0 ? Node.DOCUMENT_POSITION_FOLLOWING : Node.DOCUMENT_POSITION_PRECEDING;
    const beyond = (one) => !from || (from !== one && from.compareDocumentPosition(one) & ahead);
    for (;;) {
      const links = gave.filter(beyond);
      const link = by > 0 ? links[0] : links[links.length - 1];
      const rests = [...pane.querySelectorAll(".rest")].filter(beyond);
      const rest = by > 0 ? rests[0] : rests[rests.length - 1];
      // What is not in the page yet may have one that is nearer.
      if (rest && (!link || (rest.compareDocumentPosition(link) & ahead))) {
        await fetchRun(rest);
        continue;
      }
      if (link) open(link);
      return;
    }
  }

  function open(link) {
    const element = link.closest("p");
    const word = spans(element).findIndex((span) => link.contains(span));
    choose(link.dataset.of.split(" ")[0], known.get(element).starts[word]);
  }

  // Words become elements when the pointer comes near, so that thousands need not be there from the start.
  pane.addEventListener("pointerover", (event) => {
    const element = event.target.closest("p");
    if (known.has(element)) spans(element);
  });
  pane.addEventListener("click", (event) => {
    const rest = event.target.closest(".rest");
    if (rest) {
      event.preventDefault();
      const entered = rest.contains(document.activeElement);
      fetchRun(rest).then(() => { if (entered) pane.focus(); });
      return;
    }
    const element = event.target.closest("p");
    if (!known.has(element) || !getSelection().isCollapsed) return;
    spans(element);
    const under = document.elementFromPoint(event.clientX, event.clientY);
    const span = event.target.closest("[data-word]") ?? under?.closest("[data-word]");
    const link = event.target.closest("a.gave");
    if (link) event.preventDefault();
    const word = span ? Number(span.dataset.word) : 0;
    if (link) choose(link.dataset.of.split(" ")[0], span ? known.get(element).starts[word] : null);
    else if (span || event.target.closest(".at")) go(element, word);
  });
  pane.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || event.target !== pane) return;
    const moves = {
      ArrowRight: () => step(1),
      ArrowLeft: () => step(-1),
      ArrowDown: () => leap(1),
      ArrowUp: () => leap(-1),
      Enter: () => { const link = lit?.closest("a.gave"); if (link) open(link); },
      " ": toggle,
    };
    const move = moves[event.key];
    if (!move) return;
    event.preventDefault();
    Promise.resolve(move()).catch(() => {});
  });

  const watcher = new IntersectionObserver((seen) => {
    for (const { isIntersecting, target } of seen) if (isIntersecting && target.isConnected) fetchRun(target).catch(() => {});
  }, { root: pane, rootMargin: "200px" });
  take();
  for (const rest of pane.querySelectorAll(".rest")) watcher.observe(rest);

  const startOf = (item) => (item.matches(".rest") ? Number(item.dataset.start) : known.get(item)?.starts[0] ?? Infinity);

  /** Light the word spoken at a moment. */
  function show(at, { scroll: follow }) {
    wanted = at;
    let item = null;
    for (const one of items) if (startOf(one) <= at + 0.005) item = one;
    if (!item) {
      dim();
      return;
    }
    if (item.matches(".rest")) {
      dim();
      fetchRun(item).then(() => { if (wanted === at) show(at, { scroll: follow }); }, () => {});
      return;
    }
    const { starts } = known.get(item);
    let word = 0;
    while (word + 1 < starts.length && starts[word + 1] <= at + 0.005) word += 1;
    light(item, word);
    if (follow && lit) scroll(lit);
  }

  return {
    show,
    /** Mark the phrases that gave these findings. */
    choose(...numbers) {
      for (const link of gave) {
        link.classList.toggle("chosen", link.dataset.of.split(" ").some((number) => numbers.includes(number)));
      }
    },
  };
}
