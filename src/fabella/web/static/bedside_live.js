// What it comes to, fetched after each change; what is open in it stays open.

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

  /** Draw the plate after the words: it is the heavier part. */
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
    const title = (each) => each.closest("details").querySelector("summary > .lesion, summary")?.firstChild?.textContent;
    const open = new Set([...this.#place.querySelectorAll("details[open] > summary")].map(title));
    const scroll = this.#place.parentElement.scrollTop;
    const plate = this.#place.querySelector(".plate")?.firstChild;
    this.#place.innerHTML = text; // our own page, escaped where it was made
    for (const summary of this.#place.querySelectorAll("summary")) if (open.has(title(summary))) summary.parentElement.open = true;
    this.#place.parentElement.scrollTop = scroll;
    if (plate) this.#place.querySelector(".plate")?.append(plate); // until the new one is there
    this.#drawing = setTimeout(() => this.#draw(), plate ? DRAWN_AFTER : 0); // the first one at once
    const headline = this.#place.querySelector(".headline");
    const { version, judged = "[]", label, particulars } = headline?.dataset ?? {};
    if (headline) this.#gist.replaceChildren(...[...headline.childNodes].map((each) => each.cloneNode(true)));
    this.#place.dispatchEvent(new CustomEvent("concluded", { bubbles: true, detail: { version: Number(version), judged: JSON.parse(judged), label, particulars } }));
  }
}
