// What it comes to, fetched after each change; what is open in it stays open.

import { recall, reopen, titles } from "./recall.js";

const PATIENCE = 4000; // milliseconds before a failure is tried again
const DRAWN_AFTER = 300; // the plate waits for a pause of the hand

export class Live {
  #place; #address; #gist; #hidden; #busy = false; #again = false; #drawing = 0;

  constructor({ place, gist, address, hidden }) {
    this.#place = place;
    this.#gist = gist;
    this.#address = address;
    this.#hidden = hidden;
  }

  /** Ask again; while an answer is on its way, once more after it. */
  async refresh() {
    if (this.#busy) { this.#again = true; return; }
    this.#busy = true;
    let failed = false;
    do {
      this.#again = false;
      try {
        const answer = await fetch(this.#hidden() ? `${this.#address}?hidden=yes` : this.#address, { headers: { Accept: "text/html" }, cache: "no-store" });
        if (!answer.ok) throw new Error(String(answer.status));
        this.#show(await answer.text());
      } catch {
        failed = true;
      }
    } while (this.#again);
    this.#busy = false;
    this.#place.toggleAttribute("data-old", failed);
    if (failed) setTimeout(() => this.refresh(), PATIENCE);
  }

  /** Add what is heavier, or asks for more, after the words. */
  async #addRest() {
    await recall(this.#place, () => this.#note());
    await this.#draw();
  }

  /** Say in the headline that an earlier visit is to be weighed. */
  #note() {
    this.#gist.querySelector(".weigh")?.remove();
    if (!this.#place.querySelector("[data-earlier] .notice")) return;
    const note = document.createElement("b");
    note.className = "weigh";
    note.textContent = "Weigh an earlier visit. ";
    const pressing = [...this.#gist.querySelectorAll("b")].at(-1); // what cannot wait, or is in dispute, comes first
    if (pressing) pressing.after(" ", note);
    else this.#gist.prepend(note);
  }

  /** Draw the plate. */
  async #draw() {
    const figure = this.#place.querySelector("[data-plate]");
    if (!figure) return;
    try {
      const answer = await fetch(figure.dataset.plate, { cache: "no-store" });
      if (answer.ok && figure.isConnected) figure.innerHTML = await answer.text(); // our own drawing
    } catch { /* the words stand; the plate is drawn with the next change */ }
  }

  #show(text) {
    clearTimeout(this.#drawing);
    const open = titles(this.#place);
    const scroll = this.#place.parentElement.scrollTop;
    const plate = this.#place.querySelector(".plate")?.firstChild;
    const earlier = [...this.#place.querySelector("[data-earlier]")?.childNodes ?? []];
    this.#place.innerHTML = text; // our own page, escaped where it was made
    this.#place.querySelector("[data-earlier]")?.append(...earlier); // until it is told anew
    reopen(this.#place, open);
    this.#place.parentElement.scrollTop = scroll;
    if (plate) this.#place.querySelector(".plate")?.append(plate); // until the new one is there
    this.#drawing = setTimeout(() => this.#addRest(), plate ? DRAWN_AFTER : 0); // the first one at once
    const headline = this.#place.querySelector(".headline");
    const { version, judged = "[]", label, particulars } = headline?.dataset ?? {};
    if (headline) this.#gist.replaceChildren(...[...headline.childNodes].map((each) => each.cloneNode(true)));
    this.#note();
    this.#place.dispatchEvent(new CustomEvent("concluded", { bubbles: true, detail: { version: Number(version), judged: JSON.parse(judged), label, particulars } }));
  }
}
