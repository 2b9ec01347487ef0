// The examination page: hands and eyes on the left, what it comes to beside them, and one button always at hand.

import { Preparation, History } from "./bedside_asked.js";
import { Images } from "./bedside_images.js";
import { Live } from "./bedside_live.js";
import { Position } from "./bedside_positions.js";
import { listen } from "./bedside_say.js";
import { Sheet } from "./bedside_sheet.js";
import { called } from "./called.js";
import { h } from "./dom.js";
import { follow } from "./follow.js";
import { openOutbox } from "./outbox.js";

const REST = 350; // milliseconds in which a second touch of the same button is taken for a slip of the thumb
const HIDE = "conclusion-hidden";
const at = (id) => document.getElementById(id);
const { visit, author, device, state, norms, addresses } = JSON.parse(at("bedside-data").textContent);

const remembered = { read: () => { try { return localStorage.getItem(HIDE) === "yes"; } catch { return false; } },
  keep: (on) => { try { localStorage.setItem(HIDE, on ? "yes" : "no"); } catch { /* private window: for this page only */ } } };

const signs = await fetch(addresses.signs).then((answer) => answer.json());
const sheet = new Sheet(signs.positions, () => render());
let outbox = null, following = null, { mark } = state;
const undone = []; // what brings back the state before each change
let tookBack = ""; // in words, until something else is entered
let hidden = remembered.read(), current = 0, rested = -Infinity;

const live = new Live({ place: at("comes-part"), gist: at("gist").firstElementChild, address: addresses.comes_to, hidden: () => hidden });
const desk = { sheet, judged: new Map(), reasons: signs.reasons, kinds: signs.kinds, images: signs.images, lesions: signs.lesions, day: state.examination.examined_on, norms, write, card, figure };
const positions = signs.positions.map((each) => (each.id === "preparation" ? new Preparation(each.name, desk) : each.id === "history" ? new History(each, desk) : new Position(each, desk)));
const images = new Images(desk); // no position: nothing leads through it

// ------------------------------------------------------------------ writing

/** Enter changes: on the screen at once, on this device next, then on the server. */
function write(changes, { undoing = false } = {}) {
  if (undoing) tookBack = `Taken back: ${show(changes[0])}`;
  else { undone.push(sheet.undoing(changes)); tookBack = ""; }
  const base = sheet.version;
  const all = [...changes, ...aboutConclusion(changes)];
  sheet.apply(all);
  return outbox.add(all.map((each) => ({ base, ...each })));
}

/** Record whether findings were made while the conclusion was hidden: true only if all of them were. */
function aboutConclusion(changes) {
  if (!changes.some((each) => each.change === "set_finding" || each.change === "mark_normal")) return [];
  const recorded = sheet.conduct("conclusion_hidden"), note = { change: "set_conduct", field: "conclusion_hidden" };
  if (recorded === null && !(hidden && sheet.examined)) return [{ ...note, value: hidden }];
  return recorded && !hidden ? [{ ...note, value: false }] : [];
}

/** The server has answered: what it kept is part of its state now. */
async function answered(answer, operations) {
  const smooth = answer.conflicts !== null && !answer.conflicts?.length && answer.results.every((each) => each.outcome === "saved");
  if (smooth && answer.version === sheet.version + operations.length) {
    sheet.version = answer.version;
    following?.seen(mark = mark.replace(/^[0-9]+/, answer.version));
  } else await refetch();
  live.refresh();
}

async function refetch() {
  try {
    const answer = await fetch(addresses.state, { cache: "no-store" });
    if (answer.ok) take(await answer.json());
  } catch { /* it is asked again when the connection is back */ }
}

function take(news) {
  if (news.status === "signed") { location.assign(addresses.visit); return; }
  if (news.version < sheet.version) return;
  mark = news.mark;
  sheet.replace(news, outbox.above(news.version));
}

const KEPT = { saved: () => "Saved", sending: () => "Saving …", waiting: (n) => `No connection: ${n} ${n === 1 ? "entry waits" : "entries wait"} on this device`,
  refused: () => "Some entries were refused", shut_out: (n) => `Log in again: ${n} ${n === 1 ? "entry waits" : "entries wait"} on this device` };

function kept(kind, waiting, more) {
  const words = [...(tookBack ? [tookBack] : []), KEPT[kind](waiting)];
  for (const other of more.others) words.push(`${other.number} ${other.number === 1 ? "entry" : "entries"} by ${other.author} ${other.number === 1 ? "waits" : "wait"} until ${other.author} logs in on this device`);
  if (!more.durable) words.push("This browser keeps nothing: do not close the page before it says Saved");
  at("kept").textContent = words.join(". ");
  at("kept").classList.toggle("long", more.others.length > 0 || !more.durable || !["saved", "sending"].includes(kind));
  at("kept").dataset.kind = kind;
  if (kind === "refused" && outbox) at("kept").append(" ", ...refusals());
}

function refusals() {
  return outbox.refused().map(({ operation, problems }) => h("span", { class: "refusal" },
    `${operation.finding?.sign ?? operation.item ?? operation.image ?? operation.field ?? operation.change}: ${problems.map((each) => `${each.says}; ${each.remedy}`).join("; ")} `,
    h("button", { type: "button", class: "quiet", text: "Seen", onclick: () => outbox.dismiss(operation.id) })));
}

// ------------------------------------------------------------------ moving

function go(number, { still = false } = {}) {
  const to = Math.max(0, Math.min(number, positions.length - 1));
  if (to !== current || !positions[to].isOpen) {
    positions[current].close();
    images.close();
    current = to;
    positions[current].open();
    const { top } = positions[current].element.getBoundingClientRect();
    if (!still && (top < 0 || top > innerHeight / 3)) positions[current].element.scrollIntoView({ block: "start" });
  }
  render();
}

/** Bring into view where a change belongs, unless it is, and return what it is called there. */
function show(change) {
  if (change.change === "set_imaging") { images.open(); return images.name; }
  const sign = change.finding?.sign ?? change.sign ?? change.item;
  const id = change.position ?? { set_conduct: "preparation", set_context: "history" }[change.change];
  const number = signs.positions.findIndex((each) => each.id === id || each.signs.some((one) => one.id === sign));
  if (number < 0) return sign;
  go(number);
  const called = signs.positions[number].signs.find((each) => each.id === sign)?.name ?? signs.positions[number].name;
  return [called, change.finding?.side ?? change.side].filter(Boolean).join(", ");
}

function render() {
  for (const each of [...positions, images]) each.render();
  const position = positions[current], offer = position.offer, last = current === positions.length - 1;
  const label = offer?.words ?? (last ? "Read and sign" : `On to: ${positions[current + 1].name}`);
  at("looked").replaceChildren(h("small", { text: position.name }), h("span", { text: label }));
  at("undo").disabled = !undone.length;
  at("back").disabled = current === 0;
  at("onward").disabled = last;
}

at("looked").addEventListener("click", (event) => {
  if (event.timeStamp - rested < REST) return;
  rested = event.timeStamp;
  const { offer } = positions[current];
  if (offer) write(offer.changes);
  if (current < positions.length - 1) go(current + 1);
  else if (!offer) location.assign(addresses.sign);
});
at("back").addEventListener("click", () => go(current - 1));
at("onward").addEventListener("click", () => go(current + 1));
at("undo").addEventListener("click", () => { const back = undone.pop(); if (back?.length) write(back, { undoing: true }); render(); });
for (const [number, each] of positions.entries()) {
  each.head.addEventListener("click", () => { if (each.isOpen && number === current) each.close(); else go(number); });
}
images.head.addEventListener("click", () => { if (images.isOpen) images.close(); else images.open(); });

// ------------------------------------------------------------------ finding a sign, its card, what it comes to

at("find-sign").addEventListener("input", ({ target }) => {
  const isCalled = called(target.value), found = [];
  for (const [number, position] of signs.positions.entries()) {
    for (const sign of position.signs) {
      if (isCalled?.(`${sign.name} ${sign.also ?? ""}`.toLowerCase())) found.push([number, sign]);
    }
  }
  at("found-signs").replaceChildren(...found.slice(0, 8).map(([number, sign]) => h("li", {}, h("button", { type: "button", onclick: () => {
    target.value = "";
    at("found-signs").replaceChildren();
    go(number);
    positions[number].show(sign.id);
  } }, sign.name, h("small", { text: ` ${signs.positions[number].name}` })))));
});
at("find-sign").addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); at("found-signs").querySelector("button")?.click(); } });

async function card(sign) {
  const place = h("div", { class: "card-of" });
  try {
    const answer = await fetch(`/protocol/${sign.id}/card/`, { headers: { Accept: "text/html" } });
    if (!answer.ok) throw new Error(String(answer.status));
    place.innerHTML = await answer.text(); // our own page, escaped where it was made
  } catch {
    place.append(h("p", { class: "nothing", text: "How it is done cannot be shown without a connection." }));
  }
  return place;
}

function figure(position) {
  const template = at(`figure-${position}`);
  return template ? h("figure", { class: "drawn" }, template.content.cloneNode(true)) : null;
}

function showHidden() {
  const sign = at("hide");
  sign.setAttribute("aria-pressed", String(hidden));
  sign.textContent = hidden ? "I have finished: show it" : "Hide it until I have finished";
}
at("hide").addEventListener("click", () => {
  hidden = !hidden;
  remembered.keep(hidden);
  showHidden();
  live.refresh();
});
at("gist").addEventListener("click", ({ currentTarget }) => {
  const open = currentTarget.getAttribute("aria-expanded") !== "true";
  currentTarget.setAttribute("aria-expanded", String(open));
  document.body.classList.toggle("gist-open", open);
});

// ------------------------------------------------------------------ beginning

addEventListener("concluded", ({ detail }) => {
  const known = JSON.stringify([...desk.judged]);
  desk.judged = new Map(detail.judged.map(([sign, side, kind]) => [`${sign} ${side}`, kind]));
  if (JSON.stringify([...desk.judged]) !== known) render();
  for (const name of ["label", "particulars"]) at(name).textContent = detail[name] ?? at(name).textContent; // they may have been corrected
});
// Words say themselves only when their field is left, and a tablet that is put away tells nothing more. A number that is
// half typed says something else, and waits.
function leave() {
  const at = document.activeElement;
  if (at?.matches("#positions .ending input, #positions .reported textarea")) at.dispatchEvent(new Event("change"));
}
addEventListener("pagehide", leave); // before the outbox leaves
document.addEventListener("visibilitychange", () => { if (document.hidden) leave(); });
outbox = await openOutbox({ visit, author, device, address: addresses.operations, added: (each) => sheet.apply(each), answered, state: kept });
at("positions").append(...positions.map((each) => each.element)); // with what waits on this device, so that nothing moves any more
at("position-history").after(images.element);
at("reading").remove();
sheet.replace(state, outbox.above(state.version));
listen({ form: at("say"), place: at("proposed"), address: addresses.dictation, write });
showHidden();
const first = positions.findIndex((each) => each.how !== "full");
go(first < 0 ? positions.length - 1 : first, { still: true });
live.refresh();
following = follow(addresses.state, mark, async (news) => { if (news.mark !== mark) { take(news); live.refresh(); } });
document.documentElement.dataset.ready = "yes";
