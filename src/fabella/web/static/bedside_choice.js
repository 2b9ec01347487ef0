// Everything that can be said of one sign on one side: its levels, its measurement, why it could not be tested, a note.

import { h } from "./dom.js";
import { levelWords, measuredWords, quantity, SIDES } from "./bedside_words.js";
import { withLevel } from "./bedside_row.js";
import { taps } from "./bedside_taps.js";

const near = (value) => Math.round(value * 1000) / 1000;

/**
 * The choices for a sign on a side, as a group of controls.
 *
 * `state(finding)` states it, null takes it back; `done()` closes the choices.
 */
export function choices({ sign, side, sheet, norm, reasons, state, done }) {
  const finding = () => sheet.finding(sign.id, side);
  const title = `${side ? `${side === "right" ? "Right" : "Left"} knee, ` : ""}${sign.name}`;
  const group = h("div", { class: "choices-of", role: "group", "aria-label": title });
  const pressed = (on) => (on ? "true" : "false");

  const levels = (sign.levels ?? []).map((level) => h("button", {
    type: "button", class: "level", "aria-pressed": pressed(finding()?.level === level[0] || (finding()?.state === "normal" && level === sign.levels[0])),
    text: levelWords(level),
    onclick: () => { state(withLevel(sign, side, level[0], finding())); if (!sign.measure) done(); },
  }));
  if (levels.length) group.append(h("div", { class: "levels" }, ...levels));
  if (sign.measure) group.append(keypad({ sign, side, sheet, norm, state, done }));
  if (sign.measure?.taps) group.append(taps({ sign, finding, keep: (found) => { state(found); done(); } }));

  const cannot = Object.entries(reasons).map(([reason, words]) => h("button", {
    type: "button", class: "reason", "aria-pressed": pressed(finding()?.reason === reason), text: words,
    onclick: () => { state({ sign: sign.id, ...(side ? { side } : {}), state: "untestable", reason, ...(finding()?.note ? { note: finding().note } : {}) }); done(); },
  }));
  const note = h("input", { type: "text", value: finding()?.note ?? "", maxlength: 400, "aria-label": `Note: ${title}`, placeholder: "a note" });
  note.addEventListener("change", () => {
    if (note.value.trim() === (finding()?.note ?? "")) return; // it was said as the page was left
    const now = finding() ?? { sign: sign.id, ...(side ? { side } : {}), state: "not_examined" };
    const { note: _, ...rest } = now;
    state(note.value.trim() ? { ...rest, note: note.value.trim() } : (rest.state === "not_examined" ? null : rest));
  });
  group.append(
    h("details", { class: "cannot", open: finding()?.state === "untestable" }, h("summary", { text: "Could not be tested because of" }), h("div", { class: "levels" }, ...cannot)),
    h("div", { class: "ending" }, note,
      h("button", { type: "button", class: "quiet", text: "Not examined", disabled: !finding(), onclick: () => { state(null); done(); } }),
      h("button", { type: "button", class: "quiet", text: "Close", onclick: done })),
  );
  group.addEventListener("keydown", (event) => { if (event.key === "Escape") { event.stopPropagation(); done(); } });
  return h("div", { class: "choosing" }, h("p", { class: "of-what", text: title }), group);
}

/** A measurement: likely values to touch, steps, and a field; the other side and the norm stand beside it. */
function keypad({ sign, side, sheet, norm, state, done }) {
  const { measure } = sign;
  const other = side ? sheet.finding(sign.id, SIDES.find((each) => each !== side)) : null;
  const finding = () => sheet.finding(sign.id, side);
  const field = h("input", { type: "text", inputmode: measure.low < 0 ? "text" : "decimal", class: "reading", value: finding()?.value ?? "", "aria-label": `${sign.name} in ${measure.unit}`, autocomplete: "off" });
  const says = h("p", { class: "says", role: "alert" });
  const enter = (value) => {
    if (!Number.isFinite(value) || value < measure.low || value > measure.high) {
      says.textContent = `Between ${quantity(measure.low, measure.unit)} and ${quantity(measure.high, measure.unit)}, please.`;
      return false;
    }
    says.textContent = "";
    field.value = near(value);
    const earlier = finding(), kept = {};
    if (earlier && earlier.state !== "untestable") for (const key of ["state", "level", "method", "note"]) if (key in earlier) kept[key] = earlier[key];
    if (kept.state === "not_examined" || (kept.state === "normal" && !kept.level)) delete kept.state;
    state({ sign: sign.id, ...(side ? { side } : {}), ...kept, value: near(value), unit: measure.unit });
    return true;
  };
  const typed = () => { const text = field.value.trim().replace(",", ".").replace("−", "-"); return text === "" ? NaN : Number(text); };
  field.addEventListener("change", () => { if (field.value.trim() !== "") enter(typed()); });
  field.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); if (enter(typed())) done(); } });
  const step = (by) => () => enter(near((Number.isFinite(typed()) ? typed() : other?.value ?? nearest(measure)) + by));
  const likely = measure.by_other && other?.value !== undefined
    ? measure.by_other.map((by) => near(other.value + by)).filter((each) => each >= measure.low && each <= measure.high)
    : measure.values;
  const beside = [other?.value !== undefined ? `other side ${measuredWords(other.value, measure.unit, measure.ways)}` : "", norm ?? ""].filter(Boolean).join("; ");
  return h("div", { class: "keypad" },
    h("div", { class: "likely" }, ...likely.map((value) => h("button", {
      type: "button", class: "value", "aria-pressed": finding()?.value === value ? "true" : "false", text: quantity(value, measure.unit),
      onclick: () => { if (enter(value)) done(); },
    }))),
    h("div", { class: "exact" },
      h("button", { type: "button", "aria-label": `less by ${measure.step}`, text: "−", onclick: step(-measure.step) }),
      field, h("span", { class: "unit", text: quantity("", measure.unit).trim() }),
      h("button", { type: "button", "aria-label": `more by ${measure.step}`, text: "+", onclick: step(measure.step) }),
      beside ? h("span", { class: "beside", text: beside }) : null),
    measure.pictured ? h("p", { class: "ways-of" }, h("a", { class: "pictured", href: `../measure/?sign=${sign.id}${side ? `&side=${side}` : ""}`, text: "Measure on a picture" })) : null,
    measure.ways ? h("p", { class: "ways-of", text: `Plus is ${measure.ways[0]}, minus ${measure.ways[1]}.` }) : null,
    says);
}

const nearest = ({ values }) => values[Math.floor(values.length / 2)];
