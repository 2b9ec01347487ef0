// The positions of the patient, one open at a time, in the order of the body.

import { h } from "./dom.js";
import { Fold } from "./bedside_fold.js";
import { covered } from "./bedside_sheet.js";
import { choices } from "./bedside_choice.js";
import { fillRow, isPlain, signRow, walkable, withLevel } from "./bedside_row.js";
import { kindOf, SIDES, tellingWords } from "./bedside_words.js";

/** One position with its table. `desk` gives sheet, reasons, kinds, norms, `write(changes)` and `card(sign)`. */
export class Position extends Fold {
  #back = null; #rows = []; #table = null; #choosing = null; #more = null; #rove = () => {}; #told = new Map();

  /** How far it is: none, part or full. */
  get how() {
    const places = covered(this.data), stated = places.filter(([sign, side]) => this.desk.sheet.isSaid(sign, side));
    if (places.length && stated.length === places.length) return "full";
    return this.#all().length ? "part" : "none";
  }

  /** What the button at hand says, and does. */
  get offer() {
    if (this.how === "full" || !covered(this.data).length) return null;
    const rest = this.#all().length > 0;
    return { words: rest ? "The rest: looked at, normal" : "Looked at: normal, both sides", changes: [{ change: "mark_normal", position: this.data.id }] };
  }

  close() {
    this.#leave();
    super.close();
  }

  /** Bring a sign into view, whether or not it belongs to every knee. */
  show(id) {
    const found = this.#rows.find((each) => each.sign.id === id);
    if (!found) return;
    if (found.row.hidden) this.#further(true);
    found.row.scrollIntoView({ block: "center" });
    found.cells.values().next().value.focus();
  }

  said(how) { return { none: ", not looked at", part: ", partly looked at", full: ", looked at" }[how]; }

  told() {
    const { sheet, reasons } = this.desk, normal = this.#all().filter((each) => each.state === "normal").length;
    return [tellingWords(this.data.signs, sheet, reasons), normal ? `${normal} normal` : ""].filter(Boolean).join("; ");
  }

  fill() {
    const { sheet } = this.desk;
    for (const each of this.#rows) {
      fillRow(each, this.desk);
      if (each.row.hidden && [...each.cells.keys()].some((side) => sheet.finding(each.sign.id, side))) each.row.hidden = false;
    }
    this.#headings();
    this.#back.hidden = !covered(this.data).some(([sign, side]) => sheet.finding(sign, side)?.state === "normal");
    this.#rove();
  }

  #all() {
    return this.data.signs.flatMap((sign) => (sign.person ? [null] : SIDES).map((side) => this.desk.sheet.finding(sign.id, side)).filter(Boolean));
  }

  build() {
    const { kinds } = this.desk;
    this.#table = h("table", { class: "signs", "aria-label": this.name });
    this.#table.append(h("thead", { class: "hidden" }, h("tr", {}, ...["Right knee", "Sign", "Left knee"].map((text) => h("th", { scope: "col", text })))));
    let last = null, part = null;
    for (const sign of this.data.signs) {
      if (sign.kind !== last) {
        part = h("tbody", {}, h("tr", { class: "kind" }, h("th", { colspan: 3, scope: "rowgroup", text: kinds[sign.kind] ?? sign.kind })));
        this.#table.append(part);
        last = sign.kind;
      }
      const made = signRow(sign, { act: (...at) => this.#act(...at), tell: (...at) => this.#tell(...at) });
      made.row.hidden = !sign.routine;
      this.#rows.push(made);
      part.append(made.row);
    }
    const further = this.data.signs.filter((sign) => !sign.routine).length;
    this.#more = h("button", { type: "button", class: "quiet more", text: `${further} further signs, when the picture asks for them`, onclick: () => this.#further(true) });
    this.#back = h("button", { type: "button", class: "quiet take-back", text: "Take back “normal”", onclick: () => this.desk.write([{ change: "unmark_normal", position: this.data.id }]) });
    this.body.append(h("div", { class: "posed" }, this.desk.figure(this.data.id), h("p", { text: this.data.patient })), this.#table, h("p", { class: "below" }, further ? this.#more : null, this.#back));
    this.#rove = walkable(this.#table);
  }

  /** Show each heading once, over what is shown of it. */
  #headings() {
    let last = "";
    for (const part of this.#table.tBodies) {
      const heading = part.rows[0], shown = [...part.rows].some((row) => row.dataset.sign && !row.hidden);
      heading.hidden = !shown || heading.textContent === last;
      if (shown) last = heading.textContent;
    }
  }

  #further(on) {
    for (const { sign, row } of this.#rows) if (!sign.routine) row.hidden = !on;
    this.#more.hidden = on;
    this.render();
  }

  #act(sign, side, button) {
    const finding = this.desk.sheet.finding(sign.id, side), kind = kindOf(finding);
    const open = this.#choosing?.button === button;
    this.#leave();
    if (open) return;
    if (isPlain(sign) && (kind === "unexamined" || kind === "normal")) {
      this.desk.write([{ change: "set_finding", finding: withLevel(sign, side, sign.levels[1][0], finding) }]);
      return;
    }
    this.#choose(sign, side, button);
  }

  #choose(sign, side, button) {
    const { sheet, reasons, norms, write } = this.desk;
    const state = (finding) => write([finding ? { change: "set_finding", finding } : { change: "remove_finding", sign: sign.id, ...(side ? { side } : {}) }]);
    const made = choices({ sign, side, sheet, norm: norms[sign.id], reasons, state, done: () => { this.#leave(); button.focus({ preventScroll: true }); } });
    const row = h("tr", { class: `chooser ${side ?? "person"}` }, h("td", { colspan: 3 }, made));
    button.closest("tr").after(row);
    button.setAttribute("aria-expanded", "true");
    this.#choosing = { row, button };
    const first = made.querySelector(".level, .value");
    first?.focus({ preventScroll: true });
    row.scrollIntoView({ block: "nearest" });
  }

  #leave() {
    if (!this.#choosing) return;
    const { row, button } = this.#choosing;
    this.#choosing = null;
    button.removeAttribute("aria-expanded");
    row.remove();
  }

  async #tell(sign, row) {
    const known = this.#told.get(sign.id), { name } = this.#rows.find((each) => each.sign.id === sign.id);
    name.setAttribute("aria-expanded", known ? "false" : "true");
    if (known) { known.remove(); this.#told.delete(sign.id); return; }
    const place = h("td", { colspan: 3 }, h("p", { class: "nothing", text: "…" }));
    const told = h("tr", { class: "told" }, place);
    this.#told.set(sign.id, told);
    row.after(told);
    place.replaceChildren(await this.desk.card(sign));
  }
}
