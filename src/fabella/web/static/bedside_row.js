// One sign on one row: the right knee on the left, as one faces the patient; a touch states what is most likely meant.

import { h, mark } from "./dom.js";
import { cellWords, kindOf, spoken } from "./bedside_words.js";

/** Whether a sign has nothing more to say than no or yes, so that one touch is enough. */
export const isPlain = (sign) => sign.levels?.length === 2 && !sign.measure;

/** The finding that a level states, keeping what was measured or noted beside it. */
export function withLevel(sign, side, level, earlier) {
  const kept = {};
  if (earlier && earlier.state !== "untestable") for (const key of ["value", "unit", "method"]) if (key in earlier) kept[key] = earlier[key];
  if (earlier?.note) kept.note = earlier.note;
  const state = level === sign.levels[0][0] ? "normal" : "abnormal";
  return { sign: sign.id, ...(side ? { side } : {}), state, level, ...kept };
}

/** A row of the table of a position. `act(sign, side, cell)` is called when a cell is touched, `tell(sign, row)` for its name. */
export function signRow(sign, { act, tell }) {
  const cells = new Map();
  const cell = (side) => {
    const button = h("button", { type: "button", class: "cell", tabindex: "-1", data: { side: side ?? "person" }, onclick: () => act(sign, side, button) });
    cells.set(side, button);
    return button;
  };
  const name = h("button", { type: "button", class: "sign-name", tabindex: "-1", "aria-expanded": "false", text: sign.name, onclick: () => tell(sign, row) });
  const row = h("tr", { id: `sign-${sign.id}`, class: sign.routine ? "routine" : "further", data: { sign: sign.id } });
  const th = h("th", { scope: "row" }, name);
  if (sign.person) row.append(h("td", { class: "of-person" }, cell(null)), th, h("td", {}));
  else row.append(h("td", {}, cell("right")), th, h("td", {}, cell("left")));
  return { sign, row, cells, name };
}

/** Show on a row what stands on the sheet. */
export function fillRow({ sign, cells }, { sheet, reasons, judged }) {
  for (const [side, button] of cells) {
    const finding = sheet.finding(sign.id, side), asJudged = finding && !finding.state ? judged.get(`${sign.id} ${side ?? ""}`) : null;
    const shown = JSON.stringify([finding, asJudged]);
    if (button.dataset.shown === shown) continue;
    button.dataset.shown = shown;
    const kind = asJudged ?? kindOf(finding);
    button.className = `cell ${kind}`;
    button.setAttribute("aria-label", `${spoken(finding, sign, side, reasons)}${asJudged ? `, ${asJudged}` : ""}`);
    const words = cellWords(finding, sign, reasons);
    button.replaceChildren(mark(kind), ...(words ? [h("span", { text: words })] : []), ...(finding?.note ? [h("span", { class: "noted", text: "*", title: finding.note })] : []));
  }
}

/** Move the one tab stop of a table with the arrow keys. */
export function walkable(table) {
  const stops = () => [...table.querySelectorAll("tr:not([hidden]) > td > .cell, tr:not([hidden]) > th > .sign-name")].filter((each) => each.offsetParent);
  const stopAt = (button) => {
    for (const each of table.querySelectorAll("[tabindex='0']")) each.tabIndex = -1;
    button.tabIndex = 0;
  };
  table.addEventListener("focusin", (event) => { if (event.target.matches(".cell, .sign-name")) stopAt(event.target); });
  table.addEventListener("keydown", (event) => {
    const from = event.target;
    if (!from.matches(".cell, .sign-name")) return;
    const row = from.closest("tr"), inRow = [...row.querySelectorAll(".cell, .sign-name")];
    let to = null;
    if (event.key === "ArrowLeft") to = inRow[inRow.indexOf(from) - 1];
    if (event.key === "ArrowRight") to = inRow[inRow.indexOf(from) + 1];
    if (event.key === "Home" || event.key === "End") to = stops().at(event.key === "Home" ? 0 : -1);
    if (event.key === "ArrowUp" || event.key === "ArrowDown") {
      const column = [...row.children].indexOf(from.parentElement), rows = [...new Set(stops().map((each) => each.closest("tr")))];
      const next = rows[rows.indexOf(row) + (event.key === "ArrowUp" ? -1 : 1)];
      to = next && (next.children[column].querySelector("button") ?? next.querySelector("button"));
    }
    if (!to) return;
    event.preventDefault();
    to.focus();
  });
  return () => { if (!table.querySelector("[tabindex='0']")) stops()[0]?.setAttribute("tabindex", "0"); };
}
