// What comes before hands: consent, chaperone and pain, and then what the patient tells.

import { Fold } from "./bedside_fold.js";
import { h } from "./dom.js";
import { ASKED } from "./bedside_words.js";

const CONDUCT = [["consent_given", "Consent given"], ["chaperone_offered", "Chaperone offered"], ["pain_asked", "Pain asked before touching"]];
const CONTEXT = [
  ["complaint", [[["right"], "right knee"], [["left"], "left knee"], [["right", "left"], "both"], ["none", "neither: no complaint"]]],
  ["acuity", [["acute", "acute"], ["subacute", "subacute"], ["chronic", "chronic"]]],
  ["mechanism", ["insidious", "overuse", "twist", "valgus_force", "varus_force", "hyperextension", "direct_blow", "fall_on_knee",
    "forced_quadriceps", "squat_or_kneel", "high_energy", "minor_fall", "penetrating"].map((each) => [each, each.replaceAll("_", " ")])],
];
const DAYS = [[0, "today"], [1, "1 day"], [3, "3 days"], [7, "1 week"], [14, "2 weeks"], [42, "6 weeks"], [90, "3 months"], [365, "1 year"]];

const same = (one, other) => JSON.stringify(ordered(one)) === JSON.stringify(ordered(other));
const ordered = (value) => (Array.isArray(value) ? [...value].sort() : value); // both knees are both, whichever comes first

/**
 * A row of answers of which at most one holds; touching the one that holds takes it back. With a `unit` any other
 * amount can be typed.
 */
function answers(name, options, say, unit = "") {
  const buttons = options.map(([value, words]) => h("button", { type: "button", class: "answer", text: words, onclick: (event) => say(event.currentTarget.getAttribute("aria-pressed") === "true" ? null : value) }));
  const typed = unit ? h("input", { type: "text", inputmode: "decimal", class: "amount", "aria-label": `${name}, ${unit}`, placeholder: "other", autocomplete: "off", onchange: ({ currentTarget }) => {
    const text = currentTarget.value.trim().replace(",", "."), amount = Number(text);
    if (text === "") say(null);
    else if (Number.isFinite(amount) && amount >= 0) say(amount);
    else currentTarget.select();
  } }) : null;
  const row = h("div", { class: "asked" }, h("span", { class: "question", text: name }), h("div", { class: "answers", role: "group", "aria-label": name }, ...buttons,
    typed && h("span", { class: "typed" }, typed, h("span", { "aria-hidden": "true", text: unit }))));
  const fill = (value) => {
    const offered = options.some(([each]) => same(each, value));
    buttons.forEach((button, at) => button.setAttribute("aria-pressed", String(value !== null && same(options[at][0], value))));
    if (typed && typed !== document.activeElement) typed.value = value === null || offered ? "" : `${value}`;
    typed?.classList.toggle("holds", value !== null && !offered);
  };
  return { row, fill };
}

class Asked extends Fold {
  rows = [];

  fill() { for (const { fill, read } of this.rows) fill(read()); }

  add(made, read) {
    this.rows.push({ ...made, read });
    return made.row;
  }
}

/** Consent, chaperone and pain: asked once, first. */
export class Preparation extends Asked {
  constructor(name, desk) { super({ id: "preparation", name }, desk); }

  get how() {
    const said = CONDUCT.filter(([field]) => this.desk.sheet.conduct(field) !== null).length;
    return said === CONDUCT.length ? "full" : said ? "part" : "none";
  }

  get offer() {
    const open = CONDUCT.filter(([field]) => this.desk.sheet.conduct(field) === null);
    if (!open.length) return null;
    return { words: open.length === CONDUCT.length ? "Consent, chaperone and pain: all done" : "The rest is done", changes: open.map(([field]) => ({ change: "set_conduct", field, value: true })) };
  }

  told() {
    return CONDUCT.filter(([field]) => this.desk.sheet.conduct(field) === false).map(([, words]) => `not: ${words.toLowerCase()}`).join("; ");
  }

  build() {
    const { sheet, write } = this.desk;
    const first = "Before the first touch: what will be done and why both knees, a chaperone, and where it hurts. The painful spot comes last; watch the face.";
    this.body.append(h("div", { class: "posed" }, this.desk.figure("preparation"), h("p", { text: first })));
    for (const [field, words] of CONDUCT) {
      const made = answers(words, [[true, "yes"], [false, "no"]], (value) => write([{ change: "set_conduct", field, value }]));
      this.body.append(this.add(made, () => sheet.conduct(field)));
    }
  }
}

/** What brought the patient, and the questions. */
export class History extends Asked {
  #questions; #more; #further = null;

  constructor(position, desk) {
    super(position, desk);
    this.#questions = position.signs;
  }

  get how() {
    const routine = this.#plain(), said = routine.filter((each) => this.desk.sheet.history(each.id) !== null).length;
    if (said === routine.length) return "full";
    return said || CONTEXT.some(([field]) => this.desk.sheet.context(field) !== null) ? "part" : "none";
  }

  get offer() {
    const open = this.#plain().filter((each) => this.desk.sheet.history(each.id) === null);
    if (!open.length) return null;
    return { words: `Asked: no to ${open.length === this.#plain().length ? "all of it" : "the rest"}`, changes: open.map((each) => ({ change: "set_history", item: each.id, value: false })) };
  }

  told() {
    const yes = this.#questions.filter((each) => this.desk.sheet.history(each.id) === true).map((each) => each.name.toLowerCase());
    const mechanism = this.desk.sheet.context("mechanism");
    return [mechanism ? mechanism.replaceAll("_", " ") : "", ...yes].filter(Boolean).join(", ");
  }

  #plain() { return this.#questions.filter((each) => each.routine && !each.measure); }

  build() {
    const { sheet, write } = this.desk;
    for (const [field, options] of CONTEXT) {
      const made = answers(ASKED[field], options, (value) => write([{ change: "set_context", field, value: value ?? (field === "complaint" ? [] : null) }]));
      this.body.append(this.add(made, () => sheet.context(field)));
    }
    const began = answers(ASKED.onset_days, DAYS, (value) => write([{ change: "set_context", field: "onset_days", value }]), "days");
    this.body.append(this.add(began, () => sheet.context("onset_days")));
    const further = h("div", { class: "further-questions", hidden: true });
    let topic = "";
    for (const each of this.#questions) {
      const options = each.measure ? each.measure.values.map((value) => [value, `${value} ${each.measure.unit}`]) : [[true, "yes"], [false, "no"]];
      const made = answers(each.name, options, (value) => write([{ change: "set_history", item: each.id, value }]), each.measure?.unit);
      const row = this.add(made, () => sheet.history(each.id));
      row.id = `sign-${each.id}`;
      if (!each.routine && each.topic !== topic) further.append(h("h3", { class: "topic", text: topic = each.topic }));
      (each.routine ? this.body : further).append(row);
    }
    this.#further = further;
    this.#more = h("button", { type: "button", class: "quiet more", text: this.#left(), onclick: () => this.#open(further) });
    this.body.append(this.#more, further);
  }

  render() {
    super.render();
    if (!this.#further?.hidden) return;
    for (const each of this.#questions) { // what was answered shows, though the other rare ones are folded
      const row = each.routine || this.desk.sheet.history(each.id) === null ? null : document.getElementById(`sign-${each.id}`);
      if (row && this.#further.contains(row)) this.#more.before(row);
    }
    this.#more.textContent = this.#left();
  }

  #left() { return `${this.#further.querySelectorAll("[id^=sign-]").length} further questions`; }

  #open(further) { further.hidden = false; this.#more.hidden = true; }

  show(id) {
    const row = document.getElementById(`sign-${id}`);
    if (!row) return;
    if (row.closest("[hidden]")) this.#open(row.closest("[hidden]"));
    row.scrollIntoView({ block: "center" });
    row.querySelector("button").focus();
  }
}
