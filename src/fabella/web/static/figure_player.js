// Plays the drawings of one `[data-player]` together: at once or slowly, or position by position.
// Whoever asked the browser for less motion gets no motion unasked.

import { Drawn, eased, fetchMotion } from "./figure_motion.js";
import { h } from "./dom.js";

const SLOW = 0.25;
const HELD = 700, BACK = 450, REST = 350; // milliseconds at the end of a test, back from it, and before it is done again
const TIMES = 2; // a test is done so often
const LONGEST = 100; // milliseconds between two frames: what is longer was no motion
const STEPS = [0, 25, 50, 75, 100]; // of a test that has two positions only

const isStill = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

/** Give every player below an element its buttons. With `begin` it is drawn at once, and plays unless asked for less. */
export function mountPlayers(root, { begin = false } = {}) {
  for (const each of root.querySelectorAll("[data-player]:not([data-mounted])")) {
    each.dataset.mounted = "yes";
    const player = new Player(each);
    if (begin) player.begin(!isStill());
  }
}

class Player {
  #root; #drawn = null; #loading = null; #length = 0; #steps = STEPS;
  #time = 0; #last = 0; #frame = 0; #step = 0; #speed = 1;
  #playing = h("button", { type: "button", text: "Play", onclick: () => (this.#frame ? this.#pause() : this.#play()) });
  #slow = h("button", { type: "button", text: "Slowly", "aria-pressed": "false", onclick: () => this.#slowly() });
  #at = h("span", { class: "key-at", role: "status" });

  constructor(root) {
    this.#root = root;
    const step = (by, text, name) => h("button", { type: "button", text, "aria-label": name, onclick: () => this.#go(by) });
    root.prepend(h("div", { class: "playing" }, this.#playing, this.#slow,
      step(-1, "‹", "One position back"), step(1, "›", "One position on"), this.#at));
  }

  async begin(plays) {
    if (plays) await this.#play();
    else if (await this.#ready()) this.#say();
  }

  /** Draw the first position in place of the stills, once; false where it could not be fetched. */
  #ready() {
    this.#loading ??= this.#load().catch(() => {
      this.#loading = null;
      this.#root.classList.add("stills-only");
      this.#at.textContent = "No connection";
      return false;
    });
    return this.#loading;
  }

  async #load() {
    const figures = [...this.#root.querySelectorAll("[data-motion]")];
    const motions = await Promise.all(figures.map((each) => fetchMotion(each.dataset.motion)));
    this.#drawn = motions.map((each) => new Drawn(each));
    figures.forEach((figure, at) => figure.querySelector(".stills").replaceChildren(this.#drawn[at].svg));
    const { loops, keys_pct: keys } = motions[0];
    this.#steps = loops ? keys.slice(0, -1) : keys.length > 2 ? keys : STEPS;
    this.#length = Math.max(...motions.map((each) => each.duration_ms));
    this.#at.textContent = "";
    return true;
  }

  async #play() {
    if (!(await this.#ready()) || this.#frame) return;
    if (!this.#loops && this.#time >= this.#whole) this.#time = 0;
    this.#last = 0;
    this.#playing.textContent = "Pause";
    this.#at.textContent = "";
    this.#frame = requestAnimationFrame((now) => this.#tick(now));
  }

  #pause() {
    cancelAnimationFrame(this.#frame);
    this.#frame = 0;
    this.#playing.textContent = this.#loops ? "Play" : "Play again";
  }

  get #loops() { return this.#drawn[0].motion.loops; }

  get #turns() { return this.#drawn[0].motion.keys_pct.length > 2; } // on the way back it would be something else

  get #cycle() { return this.#length + HELD + (this.#turns ? 0 : BACK) + REST; }

  get #whole() { return (TIMES - 1) * this.#cycle + this.#length; } // it is left at its end

  #slowly() {
    this.#speed = this.#speed === 1 ? SLOW : 1;
    this.#slow.setAttribute("aria-pressed", String(this.#speed !== 1));
    this.#play();
  }

  #tick(now) {
    if (!this.#root.isConnected) return;
    if (this.#last) this.#time += this.#speed * Math.min(LONGEST, now - this.#last);
    this.#last = now;
    for (const each of this.#drawn) each.show(this.#pct(each.motion));
    if (!this.#loops && this.#time >= this.#whole) {
      this.#step = this.#steps.length - 1;
      this.#pause();
    } else this.#frame = requestAnimationFrame((next) => this.#tick(next));
  }

  /** Where a drawing is now, 0 to 100. */
  #pct({ duration_ms: duration, ease, loops }) {
    if (loops) return (100 * (this.#time % duration)) / duration;
    const time = this.#time >= this.#whole ? this.#length : this.#time % this.#cycle;
    if (time < duration) return 100 * eased(ease, time / duration);
    const back = (time - this.#length - HELD) / BACK;
    if (this.#turns || back < 0) return 100;
    return 100 * (1 - eased("ease-in-out", Math.min(1, back)));
  }

  /** Stand still at a key position, so many from here. */
  async #go(by) {
    if (!(await this.#ready())) return;
    if (this.#frame && this.#loops) this.#step = this.#near();
    this.#pause();
    const many = this.#steps.length, step = this.#step + by;
    this.#step = this.#loops ? (step + many) % many : Math.min(many - 1, Math.max(0, step));
    const pct = this.#steps[this.#step];
    this.#time = this.#loops ? (pct / 100) * this.#length : 0;
    for (const each of this.#drawn) each.show(pct);
    this.#say();
  }

  #near() {
    const pct = (100 * (this.#time % this.#length)) / this.#length;
    return this.#steps.findLastIndex((each) => each <= pct);
  }

  #say() { this.#at.textContent = `${this.#step + 1} of ${this.#steps.length}`; }
}
