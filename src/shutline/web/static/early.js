// What is pressed, chosen or typed as a key before the scripts of a page are there is kept, and done once they are.
// Without this a press is lost on a page that is still coming, on a slow telephone as on a busy machine. It is the one
// script that stands before the page; without script nothing is held back.
(() => {
  const waiting = [];
  const editable = (one) => one.isContentEditable || /^(INPUT|SELECT|TEXTAREA)$/.test(one.tagName ?? "");

  function keep(event, again) {
    if (event.cancelable) event.preventDefault();
    event.stopImmediatePropagation();
    waiting.push(again);
  }

  const hear = {
    click(event) {
      const button = event.target.closest?.("button, input[type=submit]");
      if (button) keep(event, () => button.click());
    },
    submit(event) {
      const { target, submitter } = event;
      keep(event, () => target.requestSubmit(submitter));
    },
    change(event) {
      keep(event, () => event.target.dispatchEvent(new Event("change", { bubbles: true })));
    },
    input(event) {
      keep(event, () => event.target.dispatchEvent(new Event("input", { bubbles: true })));
    },
    keydown(event) {
      const { target, key, shiftKey } = event;
      if (event.ctrlKey || event.altKey || event.metaKey) return;
      const letter = key.length === 1 && key !== " " && !editable(target);
      const entered = key === "Enter" && target.tagName === "INPUT" && !target.form;
      if (!letter && !entered) return;
      // A key goes to where the focus is by then: the page may have moved it, as it does for the keys of a list. It is
      // marked as a person's own, for those who tell such keys from what a script types.
      keep(event, () => {
        const to = entered ? target : document.activeElement ?? document.body;
        const pressed = new KeyboardEvent("keydown", { key, shiftKey, bubbles: true, cancelable: true });
        to.dispatchEvent(Object.assign(pressed, { early: true }));
      });
    },
  };

  for (const [kind, how] of Object.entries(hear)) window.addEventListener(kind, how, true);
  document.addEventListener("DOMContentLoaded", () => {
    for (const [kind, how] of Object.entries(hear)) window.removeEventListener(kind, how, true);
    for (const again of waiting) again();
  });
})();
