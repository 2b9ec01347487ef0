// One mark sheet: items with one touch each, a global rating, comments, a concern for safety.

import { h } from "./dom.js";
import { hour } from "./mark_clock.js";
import { gaps, isExcused } from "./mark_state.js";

const MOST_NAMED = 4; // gaps named before the end
const REST = 800; // milliseconds without a key before what was typed is kept
const MISSING = [["not_observed", "Not observed"], ["not_offered", "Not offered"], ["not_reached", "Not reached"]];
const ABOUT = { grade: "Global rating", concern: "Concern for safety", comment: "Comment" };

export class MarkSheet {
  #desk; // { say(events), next(), now() }
  #station;
  #updates = []; // (sheet) => put it on the screen
  #typing = new Set(); // (): keep what was typed

  constructor(sheet, station, desk) {
    this.#desk = desk;
    this.#station = station;
    const time = sheet.begins ? `${hour(sheet.begins)} to ${hour(sheet.ends)}, circuit ${sheet.circuit}` : "no longer in the timetable";
    this.heading = h("h1", { tabindex: "-1" }, sheet.candidate, " ", h("small", { text: `${station.title}, ${time}` }));
    this.element = h("div", { class: "mark-sheet" },
      h("p", { class: "crumb" }, h("a", { href: "#", text: "All candidates" })),
      this.heading, this.#notices(), this.#reopening(), ...this.#items(), this.#rating(), this.#whole(), this.#concern(), this.#finishing());
  }

  render(sheet) {
    for (const update of this.#updates) update(sheet);
  }

  /** Keep what is being typed, as when the page is closed. */
  flush() { for (const each of this.#typing) each(); }

  #say(event) { this.#desk.say([event]); }

  #notices() {
    const box = h("div", {});
    this.#updates.push((sheet) => {
      const away = sheet.away ? [h("p", { class: "notice", text: `The exam lead has noted: candidate ${sheet.away}. If they are here, tell the exam lead.` })] : [];
      const instead = sheet.instead && isExcused(sheet) ? [h("p", { class: "notice", text: `${sheet.instead} has marked this candidate here already. Mark them again only if the exam lead asks you to.` })] : [];
      box.replaceChildren(...away, ...instead, ...sheet.disputes.map(({ about, item, values, left }) => h("p", { class: "notice" },
        `Two entries disagree on “${this.#words(item) || ABOUT[about]}”: ${values.join(" or ")}. Both are kept; ${left ? "the exam lead has left it open" : "the exam lead says which holds"}.`)));
    });
    return box;
  }

  #words(item) { return this.#station.items.find((each) => each.id === item)?.words ?? ""; }

  #items() {
    const made = [];
    let domain = null;
    for (const item of this.#station.items) {
      if (item.domain !== domain) made.push(h("h2", { text: item.domain }));
      domain = item.domain;
      made.push(this.#item(item));
    }
    return made;
  }

  #item(item) {
    const name = `item-${item.id}`, say = (mark) => this.#say({ act: "mark", item: item.id, mark });
    const touch = (mark, ...inside) => h("button", { type: "button", "aria-pressed": "false", data: { mark: String(mark) }, onclick: () => say(mark) }, ...inside);
    const anchors = item.anchors.map((words, mark) => touch(mark, h("b", { text: String(mark) }), " ", h("span", { text: words })));
    const others = MISSING.map(([mark, words]) => touch(mark, words));
    const more = h("div", { class: "more" }, h("div", { class: "others" }, ...others), this.#comment(item.id, `Comment on: ${item.words}`));
    const opens = h("button", { type: "button", class: "quiet opens", "aria-expanded": "false", text: "No mark or comment" });
    const unfold = (on) => { more.hidden = !on; opens.setAttribute("aria-expanded", String(on)); };
    unfold(false);
    opens.addEventListener("click", () => unfold(more.hidden));
    this.#updates.push((sheet) => {
      const mark = String(sheet.marks[item.id] ?? "");
      for (const each of [...anchors, ...others]) {
        each.setAttribute("aria-pressed", String(each.dataset.mark === mark));
        each.disabled = sheet.finished;
      }
      const told = [MISSING.find(([each]) => each === mark)?.[1], sheet.comments[item.id] ? "Comment written" : null].filter(Boolean);
      const words = told.join(", ") || "No mark or comment";
      if (opens.textContent !== words) opens.textContent = words;
      opens.classList.toggle("told", told.length > 0);
    });
    return h("div", { class: "mark-item", role: "group", "aria-labelledby": name },
      h("p", { class: "asked", id: name }, item.words, item.critical ? h("small", { text: " safety" }) : null),
      h("div", { class: "anchors" }, ...anchors), opens, more);
  }

  #comment(item, label) {
    const name = `comment-${item || "whole"}`, field = h("textarea", { id: name, rows: "2", maxlength: "2000", autocapitalize: "sentences" });
    let kept = "", timer = 0;
    const keep = () => {
      clearTimeout(timer);
      const text = field.value.trim();
      if (text === kept) return;
      kept = text;
      this.#say({ act: "comment", item, text });
    };
    field.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(keep, REST); });
    field.addEventListener("change", keep);
    this.#typing.add(keep);
    this.#updates.push((sheet) => {
      field.readOnly = sheet.finished;
      const text = sheet.comments[item] ?? "";
      if (text === kept || document.activeElement === field) return;
      kept = text;
      field.value = text;
    });
    return h("div", { class: "comment" }, h("label", { for: name, text: label }), field);
  }

  #rating() {
    const grades = this.#station.grades.map((grade) => h("button", {
      type: "button", "aria-pressed": "false", data: { grade: String(grade.code) }, onclick: () => this.#say({ act: "grade", grade: grade.code }),
    }, h("b", { text: grade.name }), " ", h("span", { text: grade.words })));
    this.#updates.push((sheet) => {
      for (const each of grades) {
        each.setAttribute("aria-pressed", String(each.dataset.grade === String(sheet.grade)));
        each.disabled = sheet.finished;
      }
    });
    return h("section", { "aria-labelledby": "rating" }, h("h2", { id: "rating", text: "Global rating" }),
      h("p", { class: "hint", text: "Your judgement of the whole, not a sum of the marks." }), h("div", { class: "anchors grades" }, ...grades));
  }

  #whole() {
    return h("section", {}, this.#comment("", "Comment on the whole, for the candidate’s feedback"));
  }

  #concern() {
    const field = h("textarea", { id: "concern", rows: "2", maxlength: "2000" }), says = h("p", { class: "says", role: "alert" });
    const raise = h("button", { type: "button", text: "Raise a concern" }), back = h("button", { type: "button", text: "Take it back" });
    const told = h("p", { class: "notice" });
    const asks = h("div", { class: "comment" }, h("label", { for: "concern", text: "What was not safe" }), field, says, raise);
    const raised = h("div", {}, told, back);
    raise.addEventListener("click", () => {
      const reason = field.value.trim();
      says.textContent = reason ? "" : "Write what was not safe: a concern needs its reason.";
      if (reason) { this.#say({ act: "concern", reason }); back.focus(); } else field.focus();
    });
    back.addEventListener("click", () => { this.#say({ act: "concern", reason: "" }); field.focus(); });
    const box = h("details", { class: "concern" }, h("summary", {}, h("span", { text: "Concern for safety" })), asks, raised);
    this.#updates.push((sheet) => {
      const is = Boolean(sheet.concern);
      asks.hidden = is;
      raised.hidden = !is;
      told.textContent = `Concern for safety: ${sheet.concern}`;
      if (is) { box.open = true; field.value = sheet.concern; }
      raise.disabled = back.disabled = sheet.finished;
      field.readOnly = sheet.finished;
    });
    return box;
  }

  #finishing() {
    const lacks = h("p", {}), sure = h("div", { class: "problems", role: "alert", hidden: true });
    const late = h("button", { type: "button", text: "Not reached before the bell" });
    const anyway = h("button", { type: "button", text: "Finish anyway" }), stay = h("button", { type: "button", class: "main", text: "Go on marking" });
    const finish = h("button", { type: "button", class: "main", id: "finish", text: "Finish this sheet" });
    const done = h("p", { class: "finished" }, h("b", { text: "This sheet is finished." }), " ");
    const next = h("button", { type: "button", class: "main", text: "Next candidate", onclick: () => this.#desk.next() });
    sure.append(lacks, h("p", { class: "hand-row" }, stay, late, anyway));
    let now = null;
    const end = (before = []) => { sure.hidden = true; this.flush(); this.#desk.say([...before, { act: "finish" }]); next.focus(); };
    // no longer in the timetable: nobody here can know whether the bell has gone
    const isOver = () => now.ends === null || this.#desk.now() >= now.ends;
    finish.addEventListener("click", () => {
      const open = gaps(now, this.#station), wanting = [...open.map((each) => `“${each.words}”`), ...(now.grade === null ? ["the global rating"] : [])];
      if (!wanting.length) { end(); return; }
      const more = wanting.length > MOST_NAMED ? ` and ${wanting.length - MOST_NAMED} more` : "";
      late.hidden = !open.length || !isOver();
      const asks = late.hidden ? "" : " If the bell came first, say so.";
      lacks.textContent = `Nothing is entered for ${wanting.slice(0, MOST_NAMED).join(", ")}${more}. A gap is not a 0: it is missing.${asks}`;
      sure.hidden = false;
      stay.focus({ preventScroll: true });
      sure.scrollIntoView({ block: "center" }); // all its answers, above what is at hand
    });
    anyway.addEventListener("click", () => end());
    late.addEventListener("click", () => end(gaps(now, this.#station).map((each) => ({ act: "mark", item: each.id, mark: "not_reached" }))));
    stay.addEventListener("click", () => {
      sure.hidden = true;
      const open = gaps(now, this.#station)[0];
      const to = open ? this.element.querySelector(`[aria-labelledby="item-${CSS.escape(open.id)}"] button`) : this.element.querySelector(".grades button");
      to.focus();
    });
    this.#updates.push((sheet) => {
      now = sheet;
      finish.hidden = sheet.finished;
      done.hidden = next.hidden = !sheet.finished;
      if (sheet.finished) sure.hidden = true;
    });
    return h("div", { class: "finishing" }, sure, finish, done, next);
  }

  #reopening() {
    const field = h("input", { id: "reopen", maxlength: "200", autocomplete: "off" }), says = h("p", { class: "says", role: "alert" });
    const again = h("button", { type: "button", text: "Open it again" });
    const box = h("details", { class: "reopen" }, h("summary", { text: "Finished. Change something?" }),
      h("div", { class: "comment" }, h("label", { for: "reopen", text: "Why this sheet has to be opened again" }), field, says, again));
    again.addEventListener("click", () => {
      const reason = field.value.trim();
      says.textContent = reason ? "" : "A finished sheet changes only with a reason.";
      if (!reason) { field.focus(); return; }
      this.#say({ act: "reopen", reason });
      field.value = "";
      box.open = false;
      this.heading.focus();
    });
    const reasons = h("p", { class: "hint" });
    this.#updates.push((sheet) => {
      box.hidden = !sheet.finished;
      reasons.textContent = sheet.reopened.length ? `Opened again: ${sheet.reopened.join("; ")}` : "";
      reasons.hidden = !sheet.reopened.length;
    });
    return h("div", {}, box, reasons);
  }
}
