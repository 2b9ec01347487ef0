// The examiner's candidates, by round and time.

import { fullness, h } from "./dom.js";
import { hour } from "./mark_clock.js";
import { how } from "./mark_state.js";

/** The address of a sheet on this page. */
export const place = ({ station, candidate }) => `#${encodeURIComponent(station)}/${encodeURIComponent(candidate)}`;

/** Draw the list. */
export function list(sheets, stations, now) {
  const rounds = grouped(sheets), made = [h("h1", { tabindex: "-1", text: "Your candidates" })];
  if (!sheets.length) made.push(h("p", { class: "nothing", text: "The timetable has no candidates for you. Ask the exam lead." }));
  for (const [turn, inside] of rounds) {
    made.push(h("h2", { text: turn === null ? "No longer in the timetable" : `Round ${turn + 1}` }), h("ol", { class: "candidates" }, ...inside.map((each) => line(each, stations, now))));
  }
  return h("div", { class: "mark-list" }, ...made);
}

function line(sheet, stations, now) {
  const station = stations[sheet.station], [shape, words] = how(sheet, station), here = sheet.begins !== null && now >= sheet.begins && now < sheet.ends;
  const notes = [words, sheet.disputes.length ? "two entries disagree" : "", sheet.concern ? "concern for safety" : ""].filter(Boolean).join(", ");
  return h("li", { class: here ? "here" : "" },
    h("a", { href: place(sheet), "aria-current": here ? "time" : null },
      h("span", { class: "when", text: sheet.begins === null ? "–" : hour(sheet.begins) }),
      h("b", { text: sheet.candidate }),
      h("span", { class: "where", text: `${station.title}${sheet.circuit ? `, circuit ${sheet.circuit}` : ""}` }),
      h("span", { class: "stands" }, fullness(shape), ` ${notes}`, here ? h("span", { class: "tag", text: "now" }) : null)));
}

function grouped(sheets) {
  const found = new Map();
  for (const each of sheets) found.set(each.turn, [...(found.get(each.turn) ?? []), each]);
  return found;
}
