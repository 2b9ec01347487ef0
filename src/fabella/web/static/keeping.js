// On every page: lets the browser keep what work without a connection needs, sends what still waits for whoever is
// logged in, and says what waits for whom. The page of an examination speaks for itself (`outbox.js`).

import { csrfToken, openHere, sendWaiting, tellOthers } from "./outbox_sending.js";
import { isBy, openStore } from "./outbox_store.js";

const AGAIN = 30000; // milliseconds
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
      const ended = await sendWaiting({ store, visit, author, device, csrf: csrfToken, sending() {}, answered: () => tellOthers(visit) });
      if (ended.kind !== "saved") failed = ended;
    }
  }
  say(await store.all(), failed);
}

function say(all, failed) {
  const others = new Map(), sentences = [];
  let own = 0, strange = 0;
  const refused = new Map();
  for (const each of all) {
    if (each.status === "refused" && isBy(each, author, device) && !openHere.has(each.visit)) refused.set(each.made.page, (refused.get(each.made.page) ?? 0) + 1);
    if (each.status !== "waiting") continue;
    if (each.author !== author) others.set(each.author, (others.get(each.author) ?? 0) + 1);
    else if (each.device !== device) strange += 1;
    else if (!openHere.has(each.visit)) own += 1;
  }
  if (!openHere.size) for (const [name, number] of others) sentences.push(`${entries(number)} by ${name} ${number === 1 ? "waits" : "wait"} on this device until ${name} logs in here.`);
  if (own) sentences.push(`${entries(own)} of yours ${own === 1 ? "waits" : "wait"} on this device${failed?.message ? `: ${failed.message}` : " for the connection."}`);
  if (strange) sentences.push(`${entries(strange)} of yours were made when this browser had another name here; they stay on it and are not sent.`);
  line.replaceChildren(sentences.join(" "));
  for (const [page, number] of refused) {
    const link = Object.assign(document.createElement("a"), { href: page, textContent: "Look at them" });
    line.append(` ${entries(number)} of yours could not be entered. `, link, ".");
  }
  line.hidden = !line.hasChildNodes() || !line.textContent;
}

function sayAll(all) {
  const waiting = all.filter((each) => each.status === "waiting").length;
  line.textContent = waiting ? `${entries(waiting)} ${waiting === 1 ? "waits" : "wait"} on this device for the connection.` : "";
  line.hidden = !waiting;
}

function once(words) {
  try {
    if (localStorage.getItem(SAID)) return;
    localStorage.setItem(SAID, "yes");
  } catch { /* then it is said on every page */ }
  const said = document.getElementById("kept-nothing");
  said.textContent = words;
  said.hidden = false;
}

if (navigator.serviceWorker) {
  navigator.serviceWorker.register("/worker.js").catch(() => {}); // a browser that refuses it works with a connection only
  navigator.serviceWorker.addEventListener("message", () => {
    line.textContent = "No connection: nothing was sent. What you typed still stands here; send it again when the connection is back.";
    line.hidden = false;
  });
} else if (author) {
  once("This address is not encrypted, so the browser cannot open pages without a connection. What you enter is kept on this device all the same until it is sent.");
}

addEventListener("online", send);
addEventListener("pageshow", send);
setInterval(send, AGAIN);
await send();
