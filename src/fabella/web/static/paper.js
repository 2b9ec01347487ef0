// A letter or patient's page whose passages are edited in place: saved as they are typed, shown as the server has them.
import { copyButtons } from "./copying.js";
import { follow } from "./follow.js";
import { openOutbox } from "./outbox.js";

const PAUSE = 700; // milliseconds of rest after which what was typed is saved
const AGAIN = 3000; // milliseconds after which what could not be fetched is asked for again
const paper = document.getElementById("paper"), status = document.getElementById("kept");
const { visit, author, device, operations, state, mark, writing } = paper.dataset;
let version = Number(paper.dataset.version), outbox = null, fetching = false, again = false;
const timers = new Map(), unsaved = new Set();

const all = (selector, root = document) => [...root.querySelectorAll(selector)];
const passageOf = (element) => element.closest("[data-passage]");
const fieldOf = (passage) => passage.querySelector("textarea, input[name=text]:not([type=hidden])");
const squeezed = (text) => text.split(/\s+/).filter(Boolean).join(" ");

function grow(field) {
  if (field.localName !== "textarea" || CSS.supports("field-sizing", "content")) return;
  field.style.height = "auto";
  field.style.height = `${field.scrollHeight + 2}px`;
}

/** A passage is busy while somebody is in it, or while what they typed is not on the page yet. */
const isBusy = (passage) => unsaved.has(passage.dataset.passage)
  || passage.querySelector(":scope > details[open]") !== null
  || (passage.contains(document.activeElement) && document.activeElement.matches("input, textarea"));

/** Put a newer passage in the place of one; whoever stood at its button stands there still. */
function put(passage, newer) {
  const stood = passage.contains(document.activeElement);
  passage.replaceWith(newer);
  if (stood) newer.querySelector("summary")?.focus({ preventScroll: true });
}

function change(passage, text, more = {}) {
  const computed = passage.querySelector("input[name=computed]").value;
  const back = !more.keep && squeezed(text) === squeezed(computed);
  const reason = more.reason ?? passage.querySelector(".words input[name=reason]")?.value ?? "";
  return { base: version, change: "set_passage", document: writing, passage: passage.dataset.passage, text: back ? null : text, computed, reason };
}

function typed(field) {
  const passage = passageOf(field), name = passage.dataset.passage;
  unsaved.add(name);
  grow(field);
  clearTimeout(timers.get(name));
  timers.set(name, setTimeout(() => save(passage, field), PAUSE));
}

async function save(passage, field) {
  const name = passage.dataset.passage;
  clearTimeout(timers.get(name));
  if (!unsaved.delete(name)) return;
  await outbox.add([change(passage, field.value)]);
}

/** Whoever leaves in the middle of a word loses nothing of it. */
function saveAll() {
  const left = all("[data-passage]").filter((each) => unsaved.delete(each.dataset.passage) && fieldOf(each));
  if (left.length) outbox.leave(left.map((each) => change(each, fieldOf(each).value)));
}
addEventListener("pagehide", saveAll);
document.addEventListener("visibilitychange", () => { if (document.hidden) saveAll(); }); // a phone tells nothing more

/** Send a form of a passage without leaving the page. */
async function send(form, button) {
  const passage = passageOf(form), name = passage.dataset.passage;
  clearTimeout(timers.get(name));
  unsaved.delete(name);
  const field = form.querySelector("[name=text]"), text = button?.name === "restore" ? null : field?.value ?? "";
  const reason = form.querySelector("[name=reason]")?.value ?? "";
  const made = change(passage, text ?? "", { keep: button?.name === "keep" || reason !== "", reason });
  if (button?.name === "restore") made.text = null;
  const details = passage.querySelector(":scope > details[open]");
  if (details) details.open = false;
  passage.querySelector("summary")?.focus();
  await outbox.add([made]);
}

function said(kind, waiting, { durable, refused }) {
  const words = {
    saved: "Everything is saved.",
    sending: "Saving …",
    waiting: `No connection: ${waiting} ${waiting === 1 ? "change is" : "changes are"} kept ${durable ? "on this device" : "on this page only"} and sent later.`,
    refused: `${refused} ${refused === 1 ? "change was" : "changes were"} refused: ${outbox.refused().flatMap((each) => each.problems.map((one) => `${one.place} ${one.says}`)).join("; ")}`,
    shut_out: "You are no longer logged in under this name. What you typed is kept on this device until you are.",
  };
  status.textContent = unsaved.size ? "Not saved yet …" : words[kind] ?? "";
  status.dataset.kind = kind;
}

/** Show what the server has now, wherever nobody is typing. */
async function refresh() {
  if (fetching) { again = true; return; }
  fetching = true;
  do {
    again = false;
    const answer = await fetch(`${location.pathname}?again`, { headers: { Accept: "text/html" }, cache: "no-store" }).catch(() => null);
    if (answer?.redirected) { location.reload(); return; } // it was signed meanwhile
    if (!answer?.ok) { setTimeout(refresh, AGAIN); break; }
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    take(fresh);
  } while (again);
  fetching = false;
}

function take(fresh) {
  const news = fresh.getElementById("paper");
  version = Number(news.dataset.version);
  outbox.above(version);
  const here = all("[data-fresh=sections] [data-passage]"), there = all("[data-passage]", news);
  const same = here.map((each) => each.dataset.passage).join() === there.filter((each) => each.dataset.passage !== "addressee").map((each) => each.dataset.passage).join();
  const busy = here.some(isBusy);
  for (const part of all("[data-fresh]")) {
    if (part.dataset.fresh === "sections" && (same || busy)) continue;
    const one = fresh.querySelector(`[data-fresh=${part.dataset.fresh}]`);
    if (one && one.innerHTML !== part.innerHTML) part.replaceWith(one);
  }
  for (const passage of here) {
    const one = same || busy ? news.querySelector(`[data-passage="${passage.dataset.passage}"]`) : null;
    if (!one) continue;
    if (!isBusy(passage)) { if (one.outerHTML !== passage.outerHTML) put(passage, one); continue; }
    const base = passage.querySelector("input[name=base]"); // what it was computed from stays: the reader has seen no other
    if (base) base.value = String(version);
  }
  const addressee = document.getElementById("addressee");
  if (addressee && !isBusy(passageOf(addressee))) addressee.value = fresh.getElementById("addressee").value;
  if (!same && busy) stale = true;
}
let stale = false;

paper.classList.add("with-script");
paper.addEventListener("input", (event) => { if (event.target.name === "text") typed(event.target); });
paper.addEventListener("focusout", (event) => {
  if (event.target.name === "text" && unsaved.has(passageOf(event.target).dataset.passage)) save(passageOf(event.target), event.target);
});
paper.addEventListener("submit", (event) => { event.preventDefault(); send(event.target, event.submitter); });
paper.addEventListener("toggle", (event) => {
  const details = event.target;
  if (!details.classList.contains("edit")) return;
  const field = details.querySelector("textarea");
  if (details.open) { grow(field); field.focus(); } else { save(passageOf(details), field).then(refresh); if (stale) { stale = false; refresh(); } }
}, true);
paper.addEventListener("click", (event) => {
  const spoken = event.target.closest(".said");
  if (spoken && !String(getSelection())) passageOf(spoken).querySelector(":scope > details").open = true;
});
paper.addEventListener("keydown", (event) => {
  const details = event.target.closest?.("details.edit[open]");
  if (event.key !== "Escape" || !details) return;
  details.open = false;
  details.querySelector("summary").focus();
});
copyButtons();

outbox = await openOutbox({ visit, author, device, address: operations, added: show, answered: refresh, state: said });
show(outbox.above(version));
follow(state, mark, refresh);

/** Show what was made in this browser and is not on the page yet. */
function show(above) {
  for (const each of above) {
    if (each.change !== "set_passage" || each.document !== writing) continue;
    const passage = paper.querySelector(`[data-passage="${each.passage}"]`);
    if (passage && !isBusy(passage)) fieldOf(passage).value = each.text ?? passage.querySelector("input[name=computed]").value;
  }
}
