// The examiner's page: a list and a sheet in turn, a clock above them, and what is always at hand below.

import { h } from "./dom.js";
import { stayAwake } from "./mark_awake.js";
import { Clock, run } from "./mark_clock.js";
import { list, place } from "./mark_list.js";
import { openQueue } from "./mark_queue.js";
import { MarkSheet } from "./mark_sheet.js";
import { gaps, isExcused, standing, taking } from "./mark_state.js";
import { tellOnce } from "./tells.js";

const ASK = 20000; // milliseconds between looks at the server
const at = (id) => document.getElementById(id);
const key = ({ station, candidate }) => `${station}/${candidate}`;
let marking = JSON.parse(at("marking-data").textContent), tag = "", queue = null, open = null, asking = false;
const clock = new Clock(), undone = new Map(); // of each sheet, what takes its last touches back
const sheets = new Map(marking.sheets.map((each) => [key(each), { ...each, seen: each.number }]));
const now = (sheet) => standing(sheet, queue.above(sheet));

// ------------------------------------------------------------------ marking

/** Say something on the sheet that is open. */
function say(events, { undoing = false } = {}) {
  const sheet = sheets.get(open.key), before = now(sheet), time = Date.now(), made = [];
  const begun = before.began ?? clock.now();
  if (before.began === null) made.push(stamped({ act: "begin" }, sheet, time, 0));
  for (const each of events) {
    made.push(stamped(each, sheet, time, Math.max(0, clock.now() - begun) / 1000));
    const back = undoing ? null : taking(each, before);
    if (back) undone.set(open.key, [...(undone.get(open.key) ?? []), back]);
    if (each.act === "finish") undone.delete(open.key);
  }
  queue.add(sheet, made).catch(reportError);
  render();
}

function stamped(event, sheet, time, seconds) {
  return { ...event, at: new Date(time).toISOString(), ahead_s: clock.ahead, seconds: Math.round(seconds * 10) / 10, seen: sheet.seen };
}

function undo() {
  const left = [...(undone.get(open.key) ?? [])], back = left.pop();
  if (!back) return;
  undone.set(open.key, left);
  say([back], { undoing: true });
  at("said").textContent = "Taken back";
}

/** What the server has numbered is seen, as long as nothing came between that was never shown here. */
function answered(places) {
  let missed = false;
  for (const each of places) {
    const sheet = sheets.get(key(each));
    if (!sheet || each.number <= sheet.seen) continue;
    if (each.number === sheet.seen + 1) sheet.seen = each.number;
    else missed = true;
  }
  render();
  if (missed) ask();
}

/** Ask the server how the sheets stand, and for its time. */
async function ask() {
  if (asking) return;
  asking = true;
  const began = Date.now();
  try {
    const answer = await fetch(marking.addresses.sheets, { cache: "no-store", headers: tag ? { "If-None-Match": tag } : {} });
    clock.measure(answer, began);
    if (answer.ok) {
      tag = answer.headers.get("ETag");
      const { addresses } = marking;
      marking = { ...(await answer.json()), addresses };
      const there = new Map(marking.sheets.map((each) => [key(each), each]));
      for (const each of [...sheets.keys()].filter((name) => !there.has(name))) sheets.delete(each);
      for (const [name, each] of there) { // an answer that was overtaken by our own marks is older than what stands here
        if (!(sheets.get(name)?.seen > each.number)) sheets.set(name, { ...each, seen: each.number });
      }
      render();
    }
  } catch { /* it is asked again when the connection is back */ } finally { asking = false; }
}

// ------------------------------------------------------------------ showing

const KEPT = {
  saved: () => "Saved", sending: () => "Saving …", waiting: (n) => `No connection: ${n} ${n === 1 ? "entry waits" : "entries wait"} on this device`,
  refused: () => "Some entries were refused", failing: (n) => `${n} ${n === 1 ? "entry waits" : "entries wait"} on this device`,
  shut_out: (n) => `Enter your code again: ${n} ${n === 1 ? "entry waits" : "entries wait"} on this device`,
};

function kept(kind, waiting, { durable, others, message }) {
  const words = [KEPT[kind](waiting) + (kind === "failing" && message ? `: ${message}` : "")];
  if (others) words.push(`${others} by another examiner ${others === 1 ? "waits" : "wait"} here for their code`);
  if (!durable) words.push("This browser keeps nothing: do not close the page before it says Saved");
  const line = words.join(". ");
  if (at("kept").dataset.said !== line) { // whoever reads it is left in peace
    at("kept").dataset.said = line;
    at("kept").dataset.kind = kind;
    at("kept").textContent = line;
    if (kind === "shut_out") at("kept").append(" ", h("a", { href: "/mark/", text: "Enter the code" }));
    if (kind === "refused") at("kept").append(...refusals());
  }
}

function refusals() {
  return queue.refused.map((entry) => {
    const { candidate, act, item } = entry.operation, why = entry.problems.map((each) => `${each.says}; ${each.remedy}`).join("; ");
    return h("span", { class: "refusal" }, ` ${candidate}, ${act} ${item ?? ""}: ${why} `, h("button", { type: "button", class: "quiet", text: "Seen", onclick: () => queue.dismiss(entry) }));
  });
}

function render() {
  if (!queue) return;
  at("hand-row").hidden = !open;
  if (!open) { renderList(); return; }
  const sheet = now(sheets.get(open.key) ?? open.sheet), { items } = marking.stations[sheet.station];
  open.view.render(sheet);
  at("far").textContent = `${sheet.candidate}: ${items.length - gaps(sheet, { items }).length} of ${items.length} items`;
  at("undo").disabled = sheet.finished || !(undone.get(open.key) ?? []).length;
}

function renderList() {
  const view = at("view"), made = list(marking.sheets.map((each) => now(sheets.get(key(each)) ?? each)), marking.stations, clock.now());
  if (view.firstElementChild?.outerHTML === made.outerHTML) return; // whoever stands at a line is left in peace
  const stood = view.contains(document.activeElement) ? document.activeElement.getAttribute("href") : null;
  view.replaceChildren(made);
  if (stood) [...made.querySelectorAll("a")].find((each) => each.getAttribute("href") === stood)?.focus();
}

/** Show what the address names: a sheet, or the list of all. */
function go({ still = false } = {}) {
  open?.view.flush();
  const [station, candidate] = location.hash.slice(1).split("/").map(decodeURIComponent), sheet = candidate && sheets.get(key({ station, candidate }));
  const before = open?.key;
  open = null;
  if (sheet) {
    const view = new MarkSheet(sheet, marking.stations[sheet.station], { say, next, now: () => clock.now() });
    open = { key: key(sheet), sheet, view };
    at("view").replaceChildren(view.element);
    render();
    beginInTime();
  } else render();
  watchOver();
  document.title = `${sheet ? `${sheet.candidate}, ` : ""}Mark sheets of ${marking.person} – Fabella`;
  if (still && !open) at("view").querySelector(".here")?.scrollIntoView({ block: "center" });
  if (!still || before) { scrollTo(0, 0); at("view").querySelector("h1")?.focus({ preventScroll: true }); }
}

/** While a sheet is open the screen stays on; not for ever, where a tablet is forgotten. */
function watchOver() { stayAwake(open !== null && clock.now() < (marking.bells.at(-1)?.ends ?? 0)); }

/** Whoever opens the sheet of the candidate that stands there has begun; who looks ahead has not. */
function beginInTime() {
  if (!open) return;
  const sheet = now(sheets.get(open.key) ?? open.sheet), time = clock.now();
  if (!sheet.away && !sheet.instead && sheet.began === null && sheet.begins !== null && time >= sheet.begins && time < sheet.ends) say([]);
}

function next() {
  const all = marking.sheets, here = all.findIndex((each) => key(each) === open?.key);
  const onward = [...all.slice(here + 1), ...all.slice(0, here)].map((each) => now(sheets.get(key(each)) ?? each)).find((each) => !each.finished && !isExcused(each));
  location.hash = onward ? place(onward) : "";
}

// ------------------------------------------------------------------ beginning

at("hand-row").append(h("span", { id: "far" }), h("button", { type: "button", id: "undo", text: "Undo", onclick: undo }));
if (!navigator.serviceWorker) {
  tellOnce(at("not-offline"), "This address is not encrypted, so the browser cannot open this page without a connection: do not close it. What you mark is kept on this device all the same until it is sent.");
}
addEventListener("pagehide", () => open?.view.flush()); // before the queue leaves
document.addEventListener("visibilitychange", () => { if (document.hidden) open?.view.flush(); else watchOver(); }); // a tablet that is put away tells nothing more
queue = await openQueue({ person: marking.name, address: marking.addresses.events, added: () => render(), answered, state: kept });
run({ clock, bells: () => marking.bells, at, said: (words) => { at("said").textContent = words; } });
addEventListener("hashchange", () => { if (!location.hash || location.hash.includes("/")) go(); }); // others are places on the page
addEventListener("online", ask);
addEventListener("focus", ask);
setInterval(() => { ask(); watchOver(); if (!open) render(); else beginInTime(); }, ASK);
setInterval(beginInTime, 1000);
go({ still: true });
ask();
document.documentElement.dataset.ready = "yes";
