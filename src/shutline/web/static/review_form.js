// The form in which a finding or a fact is amended, or what was missed is entered.

import { Choice } from "/static/review_choice.js";

const OF_FINDING = ["part", "side", "position", "condition", "found", "severity", "remedy"];
const OF_FACT = ["value", "unit"];
const EMPTY = { part: "", side: "", position: "", condition: "", found: "yes", severity: "", remedy: "", words: "" };

export class Form {
  constructor(form) {
    this.form = form;
    this.heading = form.querySelector(".of");
    this.wrong = form.querySelector(".wrong");
    this.choices = ["part", "condition"].map((name) => new Choice(form.elements[name]));
    this.leave = () => {};
    form.querySelector(".leave").addEventListener("click", () => this.leave());
    form.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && !event.defaultPrevented) {
        event.preventDefault();
        this.leave();
      } else if (event.key === "Enter" && !event.defaultPrevented && !event.shiftKey && !event.isComposing && event.target.matches("textarea, select")) {
        event.preventDefault();
        form.requestSubmit();
      }
    });
  }

  get opened() {
    return !this.form.hidden;
  }

  /** Open it on the fields of something that was heard; `keep` is given what changed, `leave` ends it. */
  amend(ref, name, { keep, leave }) {
    const fact = "value" in ref.fields;
    this.show(fact ? "fact" : "finding", `Amend ${name}`, ref.fields, ref.words);
    this.done(leave, () => {
      const now = this.values(fact ? [...OF_FACT, "words"] : [...OF_FINDING, "words"]);
      const changed = Object.fromEntries(Object.entries(now).filter(([key, value]) => value !== ref.fields[key]));
      if (!ref.words) delete changed.words;
      return keep(changed, now);
    });
  }

  /** Open it empty, for what nothing was heard of. */
  enter(name, { keep, leave }) {
    this.show("finding", name, EMPTY, true);
    this.done(leave, () => keep(this.values([...OF_FINDING, "words"])));
  }

  /** Write the words that were said, where nobody has written any yet. */
  offerWords(text) {
    if (this.opened && this.form.elements.words.value === "") this.form.elements.words.placeholder = text;
  }

  show(kind, name, fields, words) {
    const elements = this.form.elements;
    this.heading.textContent = name;
    this.form.querySelector(".of-finding").hidden = kind !== "finding";
    this.form.querySelector(".of-fact").hidden = kind !== "fact";
    this.form.querySelector(".of-unit").hidden = kind !== "fact" || fields.unit === "";
    this.form.querySelector(".of-words").hidden = !words;
    elements.words.placeholder = "";
    for (const [key, value] of Object.entries(fields)) elements[key].value = value;
    this.tellWrong("");
    this.form.hidden = false;
    const first = elements[kind === "fact" ? "value" : "part"];
    first.focus();
    first.select();
  }

  done(leave, keep) {
    this.leave = () => {
      this.form.hidden = true;
      leave();
    };
    this.form.onsubmit = async (event) => {
      event.preventDefault();
      if (this.sending) return;
      this.sending = true;
      try {
        const trouble = await keep();
        if (trouble) this.tellWrong(trouble);
        else this.form.hidden = true;
      } finally {
        this.sending = false;
      }
    };
  }

  close() {
    this.form.hidden = true;
  }

  tellWrong(words) {
    this.wrong.textContent = words;
    this.wrong.hidden = words === "";
  }

  values(names) {
    return Object.fromEntries(names.map((name) => [name, this.form.elements[name].value.trim()]));
  }
}
