// One part of the examination that opens and closes: its heading with how far it is, a summary, and what is in it.

import { fullness, h } from "./dom.js";

/** What opens gives `how`, `told()`, `build()` once and `fill()` whenever something changed; `said(how)` is read aloud. */
export class Fold {
  #built = false;

  constructor(data, desk) {
    this.data = data;
    this.desk = desk;
    this.head = h("button", { type: "button", class: "position-name", "aria-expanded": "false", "aria-controls": `in-${data.id}` });
    this.summary = h("p", { class: "summary", hidden: true });
    this.body = h("div", { class: "position-body", id: `in-${data.id}`, hidden: true });
    this.element = h("section", { class: "position-at", id: `position-${data.id}` }, h("h2", {}, this.head), this.summary, this.body);
  }

  get name() { return this.data.name; }
  get isOpen() { return !this.body.hidden; }

  open() {
    if (!this.#built) { this.#built = true; this.build(); }
    this.body.hidden = false;
    this.head.setAttribute("aria-expanded", "true");
    this.render();
  }

  close() {
    this.body.hidden = true;
    this.head.setAttribute("aria-expanded", "false");
  }

  show() {}

  said() { return null; }

  /** What stands before its name. */
  sign(how) { return fullness(how); }

  render() {
    const { how } = this, said = this.said(how);
    this.head.replaceChildren(this.sign(how), h("span", { text: this.name }), ...(said ? [h("span", { class: "hidden", text: said })] : []));
    this.element.dataset.how = how;
    const told = this.told();
    if (this.summary.textContent !== told) this.summary.textContent = told; // the same is not read aloud again
    this.summary.hidden = !told;
    if (this.isOpen) this.fill();
  }
}
