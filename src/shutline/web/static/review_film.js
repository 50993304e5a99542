// The film beside the review: it runs over the moment of what is looked at, again and again, until told otherwise.

import { moment } from "/static/workbench.js";

const LEAD_S = 0.5;
const TAIL_S = 0.8;
const SHORTEST_S = 2.2;
const RATES = [1, 0.7, 0.45];

export class Film {
  constructor(root, car) {
    this.car = car;
    this.video = root.querySelector(".film");
    this.instead = root.querySelector(".instead");
    this.nothing = root.querySelector(".no-film");
    this.strip = root.querySelector(".strip");
    this.range = root.querySelector(".moment");
    this.span = root.querySelector(".span");
    this.now = root.querySelector(".now");
    this.told = root.querySelector(".rate");
    this.playButton = root.querySelector('[data-do="play"] .name');
    this.sources = new Map([...root.querySelectorAll("template.source")].map((one) => [one.dataset.recording, one.dataset]));
    this.recording = null;
    this.loop = null;
    this.rate = 0;
    this.blind = false;
    this.wanted = null;
    this.still = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
    const video = this.video;
    video.addEventListener("timeupdate", () => this.turn());
    video.addEventListener("seeked", () => this.show());
    video.addEventListener("play", () => { this.playButton.textContent = "Stop"; this.watch(); });
    video.addEventListener("pause", () => { this.playButton.textContent = "Play"; });
    video.addEventListener("loadedmetadata", () => this.ready());
    video.addEventListener("error", () => this.cannot());
    this.range.addEventListener("input", () => this.seek(Number(this.range.value)));
  }

  get at() {
    return this.blind ? this.blindAt : (this.wanted ?? this.video.currentTime);
  }

  get hasPicture() {
    return this.recording !== null && this.sources.get(this.recording)?.kind === "film";
  }

  get length() {
    const source = this.sources.get(this.recording);
    return Number(source?.length) || (Number.isFinite(this.video.duration) ? this.video.duration : 0) || Number(this.group()?.dataset.length) || 1;
  }

  /** Go to a moment of a recording, [recording, start, end] in seconds, and run over it; null where there is none. */
  load(place, { play = true } = {}) {
    this.loop = null;
    if (place === null || !this.sources.has(place[0])) {
      this.video.pause();
      this.span.setAttribute("width", 0);
      if (this.recording === null && this.sources.size) this.open([...this.sources.keys()][0]);
      else if (!this.sources.size) this.nothing.hidden = false;
      return;
    }
    const [recording, start, end] = place;
    if (recording !== this.recording) this.open(recording);
    const from = Math.max(0, start - LEAD_S);
    this.loop = [from, Math.min(this.length, Math.max(end + TAIL_S, from + SHORTEST_S))];
    this.span.setAttribute("x", 1000 * from / this.length);
    this.span.setAttribute("width", Math.max(3, 1000 * (this.loop[1] - from) / this.length));
    this.seek(from);
    if (play && !this.still) this.play();
  }

  open(recording) {
    this.recording = recording;
    const source = this.sources.get(recording);
    this.blind = false;
    this.tellRate();
    this.instead.hidden = true;
    this.nothing.hidden = source.kind === "film";
    this.nothing.textContent = `A sound without a picture: ${source.name}`;
    this.video.hidden = source.kind !== "film";
    this.video.src = source.address;
    this.strip.hidden = false;
    this.range.max = this.length;
    for (const group of this.strip.querySelectorAll("g")) group.toggleAttribute("hidden", group.dataset.recording !== recording);
  }

  group() {
    return [...this.strip.querySelectorAll("g")].find((one) => one.dataset.recording === this.recording);
  }

  ready() {
    this.range.max = this.length;
    this.video.playbackRate = RATES[this.rate];
    if (this.wanted !== null) this.video.currentTime = this.wanted;
  }

  seek(seconds) {
    const at = Math.max(0, Math.min(seconds, this.length));
    if (this.blind) {
      this.blindAt = at;
      this.frame();
    } else if (this.video.readyState > 0) {
      this.wanted = null;
      this.video.currentTime = at;
    } else {
      this.wanted = at;
    }
    this.show(at);
  }

  show(at = this.at) {
    if (this.video.readyState > 0 && this.wanted !== null && Math.abs(this.video.currentTime - this.wanted) < 0.05) this.wanted = null;
    this.now.textContent = `${moment(at)} of ${moment(this.length)}`;
    if (document.activeElement !== this.range || !this.video.paused) this.range.value = at;
    this.range.setAttribute("aria-valuetext", moment(at));
  }

  play() {
    if (this.blind || this.recording === null) return;
    this.video.playbackRate = RATES[this.rate];
    // A browser plays nothing with sound before the person has touched the page.
    this.video.play().catch(() => {});
  }

  toggle() {
    if (this.blind || this.recording === null) return;
    if (!this.video.paused) this.video.pause();
    else {
      if (this.loop && (this.video.currentTime < this.loop[0] - 0.1 || this.video.currentTime >= this.loop[1] - 0.05)) this.seek(this.loop[0]);
      this.play();
    }
  }

  hold() {
    this.video.pause();
  }

  slower() {
    this.rate = (this.rate + 1) % RATES.length;
    this.video.playbackRate = RATES[this.rate];
    this.tellRate();
    return this.rate ? `The film runs at ${RATES[this.rate]} of its speed` : "The film runs at its own speed";
  }

  tellRate() {
    if (!this.blind) this.told.textContent = this.rate ? `at ${RATES[this.rate]} of its speed` : "";
  }

  watch() {
    if (this.watching) return;
    this.watching = true;
    const look = () => {
      this.turn();
      if (this.video.paused) this.watching = false;
      else requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
  }

  turn() {
    if (this.loop && !this.video.paused && this.video.currentTime >= this.loop[1]) this.video.currentTime = this.loop[0];
    this.show();
  }

  /** The browser cannot decode it: the frames come from the workbench, one by one, without sound. */
  cannot() {
    if (this.recording === null || !this.video.src) return;
    const source = this.sources.get(this.recording);
    this.blind = true;
    this.blindAt = this.wanted ?? this.loop?.[0] ?? 0;
    this.video.hidden = true;
    if (source.kind !== "film") {
      this.nothing.hidden = false;
      this.nothing.textContent = `This browser cannot play ${source.name}.`;
      return;
    }
    this.told.textContent = "this browser cannot play the film: frames only";
    this.instead.hidden = false;
    this.frame();
  }

  frame() {
    clearTimeout(this.asked);
    this.asked = setTimeout(() => {
      const address = `/cars/${this.car}/review/frame?recording=${encodeURIComponent(this.recording)}&at_s=${this.blindAt.toFixed(3)}`;
      this.instead.alt = `The film at ${moment(this.blindAt)}`;
      this.instead.src = address;
    }, 60);
  }
}
