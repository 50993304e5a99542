// The words of a recording: the spoken one lit, each of them a way to its moment, by mouse and by keys.

/** Open the words; `steps` holds for each stretch the hundredths of a second from one word's start to the next. */
export function openWords(pane, steps, { jump, choose, toggle }) {
  const stretches = [...pane.querySelectorAll("p")].map((element, index) => {
    let at = 0;
    const starts = steps[index].map((step) => (at += step) / 100);
    return { element, starts, spans: null };
  });
  const first = stretches.map((stretch) => stretch.starts[0] ?? Infinity);
  const gave = [...pane.querySelectorAll("a.gave")];
  for (const link of gave) link.tabIndex = -1;
  let lit = null;
  let place = [0, 0];

  /** Give the words of a stretch as elements, made when they are first needed. */
  function spans(index) {
    const stretch = stretches[index];
    if (stretch.spans) return stretch.spans;
    stretch.spans = [];
    const walker = document.createTreeWalker(stretch.element.querySelector(".run"), NodeFilter.SHOW_TEXT);
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
        span.dataset.word = `${index} ${stretch.spans.length}`;
        stretch.spans.push(span);
        pieces.append(span);
      }
      text.replaceWith(pieces);
    }
    return stretch.spans;
  }

  function light(index, word) {
    place = [index, word];
    const span = spans(index)[word];
    if (span === lit) return;
    lit?.classList.remove("lit");
    lit = span ?? null;
    lit?.classList.add("lit");
  }

  function scroll(element) {
    const box = pane.getBoundingClientRect();
    const own = element.getBoundingClientRect();
    if (own.top < box.top + 8 || own.bottom > box.bottom - box.height * 0.25) {
      pane.scrollTop += own.top - box.top - box.height * 0.3;
    }
  }

  function go(index, word) {
    const stretch = stretches[index];
    if (!stretch || !stretch.starts.length) return;
    jump(stretch.starts[Math.min(word, stretch.starts.length - 1)]);
  }

  function step(by) {
    let [index, word] = place;
    word += lit ? by : 0;
    while (index >= 0 && index < stretches.length && (word < 0 || word >= stretches[index].starts.length)) {
      if (word < 0) {
        index -= 1;
        word = (stretches[index]?.starts.length ?? 0) - 1;
      } else {
        word -= stretches[index].starts.length;
        index += 1;
      }
    }
    go(index, word);
  }

  function leap(by) {
    const now = lit?.closest("a.gave");
    let at = gave.indexOf(now);
    if (at < 0) {
      const after = gave.findIndex((link) => lit && link.compareDocumentPosition(lit) & Node.DOCUMENT_POSITION_PRECEDING);
      at = by > 0 ? (after < 0 && lit ? gave.length : Math.max(after, 0)) - 1 : after < 0 ? gave.length : after;
    }
    const link = gave[at + by];
    if (link) open(link);
  }

  function open(link) {
    const index = stretches.findIndex((stretch) => stretch.element.contains(link));
    const word = spans(index).findIndex((span) => link.contains(span));
    choose(link.dataset.of.split(" ")[0], stretches[index].starts[word]);
  }

  // Words become elements when the pointer comes near, so that thousands need not be there from the start.
  pane.addEventListener("pointerover", (event) => {
    const index = stretches.findIndex((stretch) => stretch.element.contains(event.target));
    if (index >= 0) spans(index);
  });
  pane.addEventListener("click", (event) => {
    if (!getSelection().isCollapsed) return;
    const index = stretches.findIndex((stretch) => stretch.element.contains(event.target));
    if (index < 0) return;
    spans(index);
    const under = document.elementFromPoint(event.clientX, event.clientY);
    const span = event.target.closest("[data-word]") ?? under?.closest("[data-word]");
    const link = event.target.closest("a.gave");
    if (link) event.preventDefault();
    const word = span ? Number(span.dataset.word.split(" ")[1]) : 0;
    if (link) choose(link.dataset.of.split(" ")[0], span ? stretches[index].starts[word] : null);
    else if (span || event.target.closest(".at")) go(index, word);
  });
  pane.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
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
    move();
  });

  return {
    /** Light the word spoken at a moment. */
    show(at, { scroll: follow }) {
      let index = -1;
      for (let i = 0; i < first.length && first[i] <= at + 0.005; i += 1) index = i;
      if (index < 0) {
        lit?.classList.remove("lit");
        lit = null;
        place = [0, 0];
        return;
      }
      const { starts } = stretches[index];
      let word = 0;
      while (word + 1 < starts.length && starts[word + 1] <= at + 0.005) word += 1;
      light(index, word);
      if (follow && lit) scroll(lit);
    },
    /** Mark the phrases that gave these findings. */
    choose(...numbers) {
      for (const link of gave) {
        link.classList.toggle("chosen", link.dataset.of.split(" ").some((number) => numbers.includes(number)));
      }
    },
  };
}
