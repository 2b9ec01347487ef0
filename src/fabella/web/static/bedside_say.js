// A dictated text, read by the server, shown piece by piece; what is confirmed enters the record, nothing else.

import { h, mark } from "./dom.js";
import { csrfToken } from "./outbox_sending.js";
import { ASKED, kindOf } from "./bedside_words.js";

const WHICH_KNEE = "which knee?";
const KNEES = 3; // right, left, both

/** Make the form read what was said; `write(changes)` enters what is confirmed. */
export function listen({ form, place, address, write }) {
  const field = form.querySelector("textarea");
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (!field.value.trim()) return;
    place.replaceChildren(h("p", { class: "nothing", text: "Reading …" }));
    try {
      const answer = await fetch(address, { method: "POST", headers: { "Content-Type": "application/json", "X-CSRFToken": csrfToken() }, body: JSON.stringify({ text: field.value }) });
      const read = await answer.json();
      if (!answer.ok) throw new Error(read.error?.message);
      place.replaceChildren(proposal(read, write, () => { place.replaceChildren(h("p", { class: "nothing", text: "Entered." })); field.value = ""; field.focus(); }));
      place.scrollIntoView({ block: "nearest" });
    } catch (error) {
      place.replaceChildren(h("p", { class: "problems", role: "alert", text: error.message && !(error instanceof TypeError) ? error.message : "It could not be read: there is no connection. The text stays here." }));
    }
  });
}

function proposal(read, write, entered) {
  const chosen = new Map(); // open place → findings
  const boxes = [];
  const line = (each) => {
    const box = h("input", { type: "checkbox", checked: true });
    boxes.push([box, each.change]);
    return h("li", {}, h("label", {}, box, mark(each.kind), h("span", { text: each.words })));
  };
  const lines = (title, proposed) => {
    if (!proposed.length) return null;
    const included = proposed.filter((each) => each.ofWhole).map(line);
    const said = proposed.filter((each) => !each.ofWhole).map(line);
    return h("div", { class: "proposed-side" }, h("h2", { text: title }), h("ul", {}, ...said, included.length ? atOnce(included) : null));
  };
  const on = (side) => read.findings.filter((each) => (each.finding.side ?? null) === side)
    .map((each) => ({ words: each.words, kind: kindOf(each.finding), ofWhole: each.of_whole, change: { change: "set_finding", finding: each.finding } }));
  const imaged = (side) => read.imaging.filter(({ change }) => change.side === side).map((each) => ({ ...each, kind: "recorded", ofWhole: false }));
  const told = [
    ...read.history.map((each) => ({ words: each.words, kind: "recorded", change: { change: "set_history", item: each.item, value: each.value } })),
    ...Object.entries(read.context).map(([field, value]) => ({ words: `${ASKED[field] ?? field.replaceAll("_", " ")}: ${[value].flat().map((each) => (typeof each === "object" ? each.name : each)).join(" and ").replaceAll("_", " ")}${field === "onset_days" ? (value === 1 ? " day" : " days") : ""}`, kind: "recorded", change: { change: "set_context", field, value } })),
  ];
  const text = h("p", { class: "heard" }, ...read.spans.map((span) => (span.open
    ? h("mark", { class: span.became === "ambiguous" ? "asks" : "lost", text: span.words })
    : h("span", { class: span.became === "withdrawn" ? "withdrawn" : "", text: span.words }))));
  const open = read.spans.filter((each) => each.open);
  const enter = h("button", { type: "button", class: "main" });
  const count = () => {
    const number = boxes.filter(([box]) => box.checked).length + [...chosen.values()].flat().length;
    enter.textContent = number === 1 ? "Enter this one" : `Enter these ${number}`;
    enter.disabled = number === 0;
  };
  const questions = open.map((span, at) => question(span, (findings) => { chosen.set(at, findings); count(); }));
  enter.addEventListener("click", () => {
    const changes = boxes.filter(([box]) => box.checked).map(([, change]) => change);
    for (const findings of chosen.values()) for (const each of findings) changes.push({ change: "set_finding", finding: each.finding });
    write(changes);
    entered();
  });
  const made = h("div", { class: "proposal" }, text,
    questions.length ? h("div", { class: "open-places" }, h("h2", { text: open.length === 1 ? "One place is open" : `${open.length} places are open` }), h("ul", {}, sameKnee(open, questions), ...questions)) : null,
    h("div", { class: "proposed-sides" }, lines("Right knee", [...on("right"), ...imaged("right")]), lines("Left knee", [...on("left"), ...imaged("left")]), lines("The person", on(null)), lines("Told", told)),
    h("p", {}, enter));
  made.addEventListener("change", count);
  count();
  return made;
}

/** A knee said to be normal: one box for all that this includes, each of which can still be left out by itself. */
function atOnce(lines) {
  const all = h("input", { type: "checkbox", checked: true });
  const list = h("ul", {}, ...lines);
  const single = [...list.querySelectorAll("input")];
  all.addEventListener("change", () => { for (const each of single) each.checked = all.checked; });
  list.addEventListener("change", () => {
    const on = single.filter((each) => each.checked).length;
    all.checked = on > 0;
    all.indeterminate = on > 0 && on < single.length;
  });
  return h("li", {}, h("label", {}, all, mark("normal"), h("span", { text: "Said to be normal" })),
    h("details", {}, h("summary", { text: `What this includes: ${single.length}` }), list));
}

/** Of several places where only the knee is missing: one question for all, each of which can still be answered by itself. */
function sameKnee(open, questions) {
  const lacking = open.map((span, at) => [span, questions[at]]).filter(([span]) => span.why === WHICH_KNEE && span.choices.length === KNEES);
  if (lacking.length < 2) return null;
  const words = lacking[0][0].choices.map((each) => each.words);
  return h("li", { class: "same-knee" }, h("b", { text: `${lacking.length} signs without a knee.` }), " Of all of them, which knee? ",
    ...words.map((text, at) => h("button", { type: "button", class: "answer", text, onclick: () => {
      for (const [, item] of lacking) {
        const button = item.querySelectorAll("button")[at];
        if (button.getAttribute("aria-pressed") !== "true") button.click();
      }
    } })));
}

function question(span, choose) {
  const why = span.became === "not understood" ? `not understood${span.nearest ? `; did you mean “${span.nearest}”?` : ""}` : span.why;
  const item = h("li", {}, h("b", { text: `“${span.words.trim()}”` }), ` ${why} `);
  for (const each of span.choices) {
    item.append(h("button", { type: "button", class: "answer", "aria-pressed": "false", text: each.words, onclick: (event) => {
      const on = event.currentTarget.getAttribute("aria-pressed") !== "true";
      for (const other of item.querySelectorAll("button")) other.setAttribute("aria-pressed", "false");
      event.currentTarget.setAttribute("aria-pressed", String(on));
      choose(on ? each.findings : []);
    } }));
  }
  return item;
}
