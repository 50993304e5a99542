// A field in which one of many words is found by typing: what fits is listed, arrows go through it, Enter takes one.

let count = 0;

/** Make a field with a list of its own out of an input with a datalist. */
export class Choice {
  constructor(input) {
    this.input = input;
    const source = document.getElementById(input.getAttribute("list"));
    this.words = [...source.options].map((one) => ({ shown: one.value, sought: `${one.value} ${one.dataset.more ?? ""}`.toLowerCase() }));
    input.removeAttribute("list");
    this.list = document.createElement("ul");
    this.list.id = `choice-${count += 1}`;
    this.list.className = "choices";
    this.list.setAttribute("role", "listbox");
    this.list.setAttribute("aria-label", document.querySelector(`label[for="${input.id}"]`)?.textContent ?? "Choices");
    this.list.hidden = true;
    input.after(this.list);
    input.setAttribute("role", "combobox");
    input.setAttribute("aria-autocomplete", "list");
    input.setAttribute("aria-controls", this.list.id);
    input.setAttribute("aria-expanded", "false");
    this.at = 0;
    this.fits = [];
    input.addEventListener("input", () => this.open());
    input.addEventListener("focus", () => input.select());
    input.addEventListener("blur", () => this.close());
    input.addEventListener("keydown", (event) => this.key(event));
    this.list.addEventListener("pointerdown", (event) => {
      const option = event.target.closest("li[data-at]");
      event.preventDefault();
      if (option) this.take(Number(option.dataset.at));
    });
  }

  get opened() {
    return !this.list.hidden;
  }

  /** Those whose words begin with all that was typed; words of the name itself come before words of its meaning. */
  fitting(typed) {
    const wanted = typed.toLowerCase().split(/\s+/).filter(Boolean);
    const begins = (text) => {
      const words = text.split(/[^\p{L}\p{N}]+/u);
      return wanted.every((one) => words.some((word) => word.startsWith(one)));
    };
    const named = this.words.filter((one) => begins(one.shown.toLowerCase()));
    return [...named, ...this.words.filter((one) => !named.includes(one) && begins(one.sought))];
  }

  open({ all = false } = {}) {
    this.fits = this.fitting(all ? "" : this.input.value);
    this.at = all ? Math.max(0, this.fits.findIndex((one) => one.shown === this.input.value)) : 0;
    this.list.replaceChildren(...this.fits.map((one, at) => {
      const option = document.createElement("li");
      option.id = `${this.list.id}-${at}`;
      option.dataset.at = at;
      option.setAttribute("role", "option");
      option.textContent = one.shown;
      return option;
    }));
    this.list.hidden = this.fits.length === 0;
    this.input.setAttribute("aria-expanded", String(this.opened));
    this.mark();
  }

  mark() {
    for (const option of this.list.children) option.setAttribute("aria-selected", String(Number(option.dataset.at) === this.at));
    const present = this.list.children[this.at];
    if (this.opened && present) {
      this.input.setAttribute("aria-activedescendant", present.id);
      present.scrollIntoView({ block: "nearest" });
    } else {
      this.input.removeAttribute("aria-activedescendant");
    }
  }

  close() {
    this.list.hidden = true;
    this.input.setAttribute("aria-expanded", "false");
    this.input.removeAttribute("aria-activedescendant");
  }

  take(at) {
    if (this.fits[at]) this.input.value = this.fits[at].shown;
    this.close();
  }

  key(event) {
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      if (!this.opened) {
        this.open({ all: true });
        return;
      }
      const step = event.key === "ArrowDown" ? 1 : -1;
      this.at = (this.at + step + this.fits.length) % this.fits.length;
      this.mark();
    } else if (event.key === "Enter" && this.opened) {
      event.preventDefault();
      event.stopPropagation();
      this.take(this.at);
    } else if (event.key === "Escape" && this.opened) {
      event.preventDefault();
      event.stopPropagation();
      this.close();
    } else if (event.key === "Tab" && this.opened) {
      this.take(this.at);
    }
  }
}
