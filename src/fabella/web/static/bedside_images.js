// Images that were there before the conclusion, knee by knee: what was taken, when, and what it shows.

import { Fold } from "./bedside_fold.js";
import { imageWords, SIDES } from "./bedside_words.js";
import { h, mark } from "./dom.js";

const FIRST_DAY = "1900-01-01"; // while a year is being typed it is in the first centuries
const PRESSED = "aria-pressed", EXPANDED = "aria-expanded";
const capital = (word) => word[0].toUpperCase() + word.slice(1);

/** The part of the page that is folded below the history; it is no position, and nothing waits for it. */
export class Images extends Fold {
  #knees = [];

  constructor(desk) {
    super({ id: "images", name: "Images" }, desk);
    this.summary.setAttribute("aria-live", "polite"); // in a line what is recorded
  }

  get how() { return this.desk.sheet.imaged.length ? "recorded" : "unexamined"; }

  sign() { return mark(this.how); }

  told() {
    const { sheet, lesions, images } = this.desk;
    return SIDES.flatMap((side) => images.map(({ id }) => sheet.imaging(id, side)).filter(Boolean))
      .map((each) => `${capital(each.side)}: ${imageWords(each, images, lesions)}`).join("\n");
  }

  build() {
    this.#knees = SIDES.map((side) => new Knee(side, this.desk));
    const rest = h("div", { class: "other-knee" }, ...this.#knees.map((each) => each.more));
    this.body.append(h("p", { class: "hint", text: "What is not ticked counts as not seen; what a scan shows after you have concluded belongs under what was found later." }),
      ...this.#knees.map((each) => each.element), rest);
  }

  fill() { for (const each of this.#knees) each.fill(); }
}

/** One knee: a button for each kind of image, and what is asked of the one that was chosen. */
class Knee {
  #side; #desk; #kinds; #wanted = false;

  constructor(side, desk) {
    this.#side = side;
    this.#desk = desk;
    this.#kinds = desk.images.map((kind) => new Kind(kind, side, desk, (chosen) => this.#choose(chosen)));
    this.element = h("div", { class: "imaged-knee", role: "group", "aria-label": `Images of the ${side} knee` }, h("h3", { text: `${capital(side)} knee` }),
      h("div", { class: "answers" }, ...this.#kinds.map((each) => each.head)), ...this.#kinds.map((each) => each.body));
    this.more = h("button", { type: "button", class: "quiet", text: `Images of the ${side} knee too`, onclick: () => {
      this.#wanted = true;
      this.fill();
      this.#kinds[0].head.focus();
    } });
  }

  /** Whether it is asked about: a knee that is complained of, or has images; both where nobody has said. */
  get #isAsked() {
    const complaint = this.#desk.sheet.context("complaint");
    const known = Array.isArray(complaint) && complaint.length > 0;
    return this.#wanted || !known || complaint.includes(this.#side) || this.#desk.sheet.imaged.some((each) => each.side === this.#side);
  }

  #choose(chosen) { for (const each of this.#kinds) each.show(each === chosen && each.body.hidden); }

  fill() {
    this.element.hidden = !this.#isAsked;
    this.more.hidden = this.#isAsked;
    for (const each of this.#kinds) each.fill();
  }
}

/** One kind of image of one knee; nothing is stated before one of three answers is given. */
class Kind {
  #kind; #side; #desk; #answers; #ticks; #boxes = new Map(); #back; #about; #on; #undated; #limited; #words; #says; #isTicking = false;

  constructor(kind, side, desk, choose) {
    this.#kind = kind;
    this.#side = side;
    this.#desk = desk;
    const name = `${side} knee, ${kind.name}`, id = `image-${side}-${kind.id}`;
    this.head = h("button", { type: "button", class: "answer", "aria-controls": id, onclick: () => choose(this) });
    const answer = (words, onclick) => h("button", { type: "button", class: "answer", text: words, onclick });
    this.#answers = {
      unread: answer("not read yet", () => this.#read(null)),
      nothing: answer("nothing abnormal seen", () => this.#read([])),
      shows: answer("shows …", () => { this.#isTicking = !this.#isTicking; this.fill(); }),
    };
    this.#ticks = h("div", { class: "ticks", role: "group", "aria-label": `What it shows: ${name}`, id: `${id}-shows` });
    this.#answers.shows.setAttribute("aria-controls", this.#ticks.id);
    this.#on = h("input", { type: "date", id: `${id}-on`, min: FIRST_DAY, max: desk.day, onchange: () => this.#dated() });
    this.#undated = h("p", { class: "hint", text: "Without a day it counts as one of this complaint, and the letter says that the day is not stated." });
    this.#limited = h("input", { type: "checkbox", onchange: () => this.#state({ limited: this.#limited.checked || null }) });
    this.#says = h("p", { class: "says", role: "alert" });
    this.#words = h("textarea", { id: `${id}-words`, rows: "2", maxlength: "4000", autocomplete: "off", onchange: () => this.#report() });
    this.#about = h("div", { class: "about-image" },
      h("label", { class: "limited" }, this.#limited, h("span", { text: "Of limited value, as when blurred or short of a view: it rules nothing out" })),
      h("div", {}, h("label", { for: this.#on.id, text: "Taken on which day?" }), this.#on, this.#undated, this.#says),
      h("div", { class: "reported" }, h("label", { for: this.#words.id, text: "Words of the report" }), this.#words));
    this.#back = h("button", { type: "button", class: "quiet", text: "Take it back", "aria-label": `Take it back: ${name}`, onclick: () => this.#takeBack() });
    this.body = h("div", { class: "choosing image-at", id, role: "group", "aria-label": capital(name), hidden: true, onkeydown: ({ key }) => { if (key === "Escape") this.#leave(choose); } },
      h("p", { class: "of-what", text: capital(kind.name) }), h("div", { class: "answers" }, ...Object.values(this.#answers), this.#back), this.#ticks, this.#about);
  }

  get #stated() { return this.#desk.sheet.imaging(this.#kind.id, this.#side); }

  show(isOpen) {
    this.body.hidden = !isOpen;
    this.#isTicking = isOpen && Boolean(this.#stated?.shows?.length);
    this.fill();
  }

  #leave(choose) {
    choose(this);
    this.head.focus();
  }

  #read(shows, { ticking = false } = {}) {
    this.#isTicking = ticking;
    this.#state(shows ? { shows } : { shows, limited: null });
  }

  /** State it with what is new of it; whatever is unknown is left out. */
  #state(news) {
    const { shows = null, on = null, limited = null, words = null } = { ...this.#stated, ...news };
    const result = Object.fromEntries(Object.entries({ shows, on, limited, words }).filter(([, value]) => value !== null));
    this.#desk.write([{ change: "set_imaging", image: this.#kind.id, side: this.#side, result }]);
  }

  #report() {
    const words = this.#words.value.trim() || null;
    if (words !== (this.#stated?.words ?? null)) this.#state({ words });
  }

  #takeBack() {
    this.#isTicking = false;
    this.head.focus(); // the button that was touched goes away
    this.#desk.write([{ change: "set_imaging", image: this.#kind.id, side: this.#side, result: null }]);
  }

  /** With the last tick taken away nobody has said what it shows: it is not read, rather than normal. */
  #tick() {
    const shows = [...this.#boxes].filter(([, box]) => box.checked).map(([lesion]) => lesion);
    this.#read(shows.length ? shows : null, { ticking: true });
  }

  #dated() {
    const { rangeOverflow, valid } = this.#on.validity;
    this.#says.textContent = rangeOverflow ? "An image taken after the examination belongs under what was found later." : "";
    if (valid) this.#state({ on: this.#on.value || null });
  }

  fill() {
    const stated = this.#stated, { images, lesions } = this.#desk;
    this.head.replaceChildren(...(stated ? [mark("recorded")] : []), h("span", { text: capital(this.#kind.name) }));
    this.head.setAttribute("aria-label", capital(stated ? imageWords(stated, images, lesions) : this.#kind.name));
    this.head.classList.toggle("holds", Boolean(stated));
    this.head.setAttribute(EXPANDED, String(!this.body.hidden));
    if (this.body.hidden) return;
    const { unread, nothing, shows } = this.#answers, shown = stated?.shows ?? null;
    unread.setAttribute(PRESSED, String(Boolean(stated) && shown === null));
    nothing.setAttribute(PRESSED, String(shown?.length === 0));
    shows.setAttribute(PRESSED, String(Boolean(shown?.length)));
    shows.setAttribute(EXPANDED, String(this.#isTicking));
    this.#ticks.hidden = !this.#isTicking;
    if (this.#isTicking) this.#fillTicks(shown ?? []);
    this.#about.hidden = this.#back.hidden = !stated;
    this.#undated.hidden = Boolean(stated?.on);
    this.#limited.checked = Boolean(stated?.limited);
    this.#limited.parentElement.hidden = shown === null;
    for (const [field, value] of [[this.#on, stated?.on ?? ""], [this.#words, stated?.words ?? ""]]) if (field !== document.activeElement) field.value = value;
  }

  #fillTicks(shown) {
    for (const lesion of [...this.#kind.shows, ...shown]) {
      if (this.#boxes.has(lesion)) continue;
      const box = h("input", { type: "checkbox", onchange: () => this.#tick() });
      this.#boxes.set(lesion, box);
      this.#ticks.append(h("label", {}, box, h("span", { text: this.#desk.lesions[lesion] })));
    }
    for (const [lesion, box] of this.#boxes) box.checked = shown.includes(lesion);
  }
}
