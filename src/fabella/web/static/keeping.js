// On every page: lets the browser keep what work without a connection needs, sends what still waits for whoever is
// logged in, and says what waits for whom. The page of an examination speaks for itself (`outbox.js`).

import { csrfToken, openHere, sendWaiting, tellOthers } from "./outbox_sending.js";
import { isBy, openStore } from "./outbox_store.js";
import { tellOnce } from "./tells.js";

const AGAIN = 30000; // milliseconds
const SOON = 10000;
const OLDEST = 12 * 60 * 60 * 1000;
const SAID = "said-nothing-kept";
const { author, device } = document.body.dataset;
const isOffline = document.getElementById("offline") !== null; // then nobody knows who is logged in
const line = document.getElementById("keeping");
const store = await openStore();
const entries = (number) => (number === 1 ? "1 entry" : `${number} entries`);

async function send() {
  const all = await store.all();
  if (isOffline) { sayAll(all); return; }
  const safe = all.filter((each) => each.status === "kept" && (each.author !== author || Date.now() - each.made.at > OLDEST));
  if (safe.length) await store.remove(safe); // the server has them: nothing of them stays behind here
  let failed = null;
  if (author) {
    for (const visit of new Set(all.filter((each) => each.status === "waiting" && isBy(each, author, device)).map((each) => each.visit))) {
      if (openHere.has(visit)) continue;
      const ended = await sendWaiting({ store, visit, author, device, sending() {}, answered: () => tellOthers(visit) });
      if (ended.kind !== "saved") failed = ended;
    }
  }
  say(await store.all(), failed);
}

let last = "";

function say(all, failed) {
  const news = JSON.stringify([all.map((each) => [each.id, each.status, each.device]), [...openHere], failed?.message]);
  if (news === last) return; // whoever reads it, or stands at one of its buttons, is left in peace
  last = news;
  const others = new Map(), refused = [], strange = new Map(), here = openHere.size > 0;
  const count = (map, key) => map.set(key, (map.get(key) ?? 0) + 1);
  let own = 0;
  for (const each of all) {
    const isOpen = openHere.has(each.visit);
    if (each.status === "refused" && isBy(each, author, device) && !isOpen) refused.push(each);
    if (each.status !== "waiting") continue;
    if (each.author !== author) count(others, each.author);
    else if (each.device !== device) count(strange, each.visit);
    else if (!isOpen) own += 1;
  }
  line.replaceChildren();
  if (!here) for (const [name, number] of others) line.append(`${entries(number)} by ${name} ${waits(number)} on this device until ${name} logs in here. `);
  if (own) line.append(`${entries(own)} of yours ${waits(own)} on this device${failed?.message ? `: ${failed.message}` : " for the connection."} `);
  for (const [visit, number] of strange) {
    const page = all.find((each) => each.visit === visit).made.page;
    line.append(`${entries(number)} of yours ${waits(number)} from a time when this server knew this browser by another name. `);
    line.append(openHere.has(visit) ? adopting(visit) : link(page, "Look whether this is their patient"), " ");
  }
  if (refused.length) line.append(`${entries(refused.length)} of yours could not be entered:`, listed(refused));
  line.hidden = !line.hasChildNodes();
}

/** What was refused, with what was typed and why; the page on which it was typed may show the examination no longer. */
function listed(refused) {
  const list = document.createElement("ul");
  for (const each of refused) {
    const item = document.createElement("li"), seen = Object.assign(document.createElement("button"), { type: "button", textContent: "Seen" });
    const why = each.problems.map((problem) => [problem.says, problem.remedy].filter(Boolean).join("; ")).join(". ");
    const told = document.createElement("span");
    told.append(link(each.made.page, `visit ${each.visit}`), `, ${typed(each.operation)}: ${why}.`);
    item.append(told, seen);
    seen.addEventListener("click", async () => { await store.remove([each]); tellOthers(each.visit); await send(); });
    list.append(item);
  }
  return list;
}

/** What somebody typed, in its own words as far as an operation has them. */
function typed({ id, base, seen, change, finding, ...rest }) {
  const said = finding ? Object.values(finding) : [...Object.values(rest), ...(change.startsWith("set") ? [] : [change])];
  const words = (each) => (each === null ? [] : typeof each === "object" ? Object.values(each).flatMap(words) : [String(each).replaceAll("_", " ")]);
  return said.flatMap(words).join(" ");
}

const waits = (number) => (number === 1 ? "waits" : "wait");
const link = (href, textContent) => Object.assign(document.createElement("a"), { href, textContent });

/** A button that takes over entries whose device has lost its name here, once somebody has seen whose visit it is. */
function adopting(visit) {
  const button = Object.assign(document.createElement("button"), { type: "button", textContent: "They belong to this patient: enter them" });
  button.addEventListener("click", async () => {
    const waiting = (await store.all("visit", visit)).filter((each) => each.status === "waiting" && each.author === author && each.device !== device);
    await store.put(waiting.map((each) => ({ ...each, device })));
    tellOthers(visit);
    dispatchEvent(new Event("online")); // the outbox of this page looks as well
  });
  return button;
}

function sayAll(all) {
  const waiting = all.filter((each) => each.status === "waiting").length;
  line.textContent = waiting ? `${entries(waiting)} ${waits(waiting)} on this device for the connection.` : "";
  line.hidden = !waiting;
}

let isLoggedOut = false;

function sayLoggedOut(who = "You were logged out: nothing was sent. ") {
  isLoggedOut = true;
  const anew = Object.assign(link("/login/", `Log in${author ? ` as ${author}` : ""} in another window`), { target: "_blank" });
  line.replaceChildren(who, "What you typed still stands here. ", anew, ", then send it again here.");
  line.hidden = false;
}

/** What was typed before somebody was logged out is sent under no other name, and with the token of the new log-in. */
async function sendAgain(event) {
  const { target: form, submitter } = event, token = form.elements.csrfmiddlewaretoken;
  if (!isLoggedOut || !token || event.defaultPrevented) return; // some forms are sent by their own script
  event.preventDefault();
  const answer = await fetch("/help/", { method: "HEAD", cache: "no-store", redirect: "manual" }).catch(() => null);
  const person = answer?.ok ? decodeURIComponent(answer.headers.get("X-Person").split("+")[0]) : null;
  if (person === author) {
    isLoggedOut = false;
    token.value = csrfToken();
    form.requestSubmit(submitter);
  } else sayLoggedOut(person === null ? undefined : `${person} is logged in now, and nothing was sent. `);
}

function once(words) {
  try {
    if (localStorage.getItem(SAID)) return;
    localStorage.setItem(SAID, "yes");
  } catch { /* then it is said on every page */ }
  tellOnce(document.getElementById("kept-nothing"), words);
}

const loaded = new Promise((done) => (document.readyState === "complete" ? done() : addEventListener("load", done)));
if (navigator.serviceWorker) { // the page first; a browser that refuses the worker works with a connection only
  const { serviceWorker } = navigator;
  serviceWorker.addEventListener("controllerchange", () => serviceWorker.controller?.postMessage("keep"));
  loaded.then(() => serviceWorker.register("/worker.js")).catch(() => {});
  const cameThroughIt = performance.getEntriesByType("navigation")[0]?.workerStart > 0;
  serviceWorker.ready.then(({ active }) => {
    if (!serviceWorker.controller) active.postMessage("claim");
    else if (!cameThroughIt) serviceWorker.controller.postMessage("keep"); // it took us over before we listened
  });
  let times = 6;
  const asked = setInterval(async () => { // an installation may fail, and a copy may not come
    const copied = serviceWorker.controller && (await caches.match(location.origin + location.pathname));
    if (copied || !times--) clearInterval(asked);
    else if (serviceWorker.controller) serviceWorker.controller.postMessage("keep");
    else serviceWorker.register("/worker.js").catch(() => {});
  }, SOON);
  serviceWorker.addEventListener("message", ({ data }) => {
    if (data === "logged out") { sayLoggedOut(); return; }
    line.textContent = "No connection: nothing was sent. What you typed still stands here; send it again when the connection is back.";
    line.hidden = false;
  });
} else if (author) {
  once("This address is not encrypted, so the browser cannot open pages without a connection. What you enter is kept on this device all the same until it is sent.");
}

addEventListener("submit", sendAgain);
for (const each of ["online", "pageshow", "outbox"]) addEventListener(each, send);
setInterval(send, AGAIN);
await send();
