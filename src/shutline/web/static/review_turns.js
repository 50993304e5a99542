// One thing at a time: what is pressed while another is on its way waits for its turn, and none is dropped unsaid.

export class Turns {
  /** `trouble` is given what went wrong, and how many were let go because of it. */
  constructor(trouble) {
    this.trouble = trouble;
    this.waiting = [];
    this.busy = false;
  }

  /** Do something when all before it is done; gives what it gives, undefined where it failed or was let go. */
  run(deed) {
    return new Promise((resolve) => {
      this.waiting.push({ deed, resolve });
      this.work();
    });
  }

  /** Let go of what waits, for it was meant for something else than what is there now; gives how many there were. */
  letGo() {
    const left = this.waiting.splice(0);
    for (const one of left) one.resolve(undefined);
    return left.length;
  }

  async work() {
    if (this.busy) return;
    this.busy = true;
    while (this.waiting.length) {
      const { deed, resolve } = this.waiting.shift();
      try {
        resolve(await deed());
      } catch (error) {
        resolve(undefined);
        this.trouble(error, this.letGo());
      }
    }
    this.busy = false;
  }
}

/** Say how many keys were not done. */
export function leftWords(count) {
  if (!count) return "";
  return count === 1 ? " One key pressed after it was not done." : ` ${count} keys pressed after it were not done.`;
}

/** Give a key that was pressed before its field was there to that field. */
export function typeInto(form, key) {
  const field = form.contains(document.activeElement) ? document.activeElement : null;
  if (!field) return;
  if (key.length === 1 && field.matches("input, textarea")) {
    field.setRangeText(key, field.selectionStart, field.selectionEnd, "end");
    field.dispatchEvent(new Event("input", { bubbles: true }));
    return;
  }
  const taken = !field.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
  if (key === "Enter" && !taken && field.matches("input")) form.requestSubmit();
  if (key === "Tab" && !taken) {
    const fields = [...form.querySelectorAll("input, select, textarea, button")].filter((one) => one.offsetParent !== null);
    fields[fields.indexOf(field) + 1]?.focus();
  }
}
