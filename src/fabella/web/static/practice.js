// A practice run: what a button says is kept by the browser and posted as an event, once; what it brought comes back
// with the answer, drawn and in words. Without this file the same buttons send the same events as forms.

import { mountPlayers } from "./figure_player.js";
import { mountFinding } from "./practice_find.js";
import { eventOf, meant, once, step } from "./practice_form.js";
import { Kept } from "./practice_kept.js";
import { back, lead, offer } from "./practice_noting.js";
import { draw, now, onScreen, put, stage } from "./practice_now.js";

const practice = document.getElementById("practice");
const clock = document.getElementById("clock");
const latest = document.getElementById("latest");
const thoughts = practice.querySelectorAll("[data-said]"); // what one believes, and would complete it with
const AGAIN = 2000; // milliseconds until what was not answered is sent again
const REST = 350; // milliseconds in which a second press of the same button is taken for a slip
const SHUT_OUT = [401, 403];
const ELSEWHERE = ["do", "position"]; // what is done next is drawn, whatever was asked for before

let since = performance.now(); // when the last thing was shown
let asked = ""; // what was asked to be drawn, until something else is done
let queue = Promise.resolve();

const words = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
const pause = () => new Promise((done) => {
  const timer = setTimeout(done, AGAIN);
  addEventListener("online", () => { clearTimeout(timer); done(); }, { once: true });
});

function tick() {
  const limit = Number(now().dataset.limit);
  const spent = Number(now().dataset.clock) + (performance.now() - since) / 1000;
  const isUp = limit > 0 && spent >= limit;
  clock.toggleAttribute("data-up", isUp);
  if (isUp) clock.textContent = "Time is up: say what you think";
  else clock.textContent = limit > 0 ? `${words(spent)} of ${words(limit)}` : words(spent);
}

const parsed = (text) => {
  const made = document.createElement("template");
  made.innerHTML = text;
  return made.content;
};

/** Fetch how the run stands: all of it, or what is not on the screen. */
async function fetched(query) {
  const answer = await fetch(`${practice.dataset.now}?${query}`, { cache: "no-store" });
  if (!answer.ok) throw new Error(answer.statusText);
  return parsed(await answer.text());
}

/** Show how the run stands; false where the screen has not what it builds upon. */
function show(content) {
  if (!put(content)) return false;
  latest.textContent = now().querySelector("[data-latest]").textContent;
  since = performance.now();
  tick();
  offer();
  if (now().dataset.finished) location.assign(practice.dataset.debrief); // in another window
  return true;
}

/** Fetch how the run stands and show it, however often it has to be asked for. */
async function shown() {
  for (;;) {
    try {
      return show(await fetched(`show=${asked}`));
    } catch {
      latest.textContent = "Kept; the answer is still awaited …";
      await pause();
    }
  }
}

/** Post one event until it is answered: a repeat is answered the same. */
async function post(event) {
  const body = JSON.stringify({ events: [event] });
  const query = event.act === "finish" ? "" : `?${onScreen()}&show=${asked}`;
  for (;;) {
    const token = document.querySelector("[name=csrfmiddlewaretoken]").value;
    const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
    try {
      const answer = await fetch(practice.dataset.events + query, { method: "POST", headers, body });
      if (answer.status < 500) return { status: answer.status, told: await answer.json() };
    } catch {
      // no connection: the same again
    }
    latest.textContent = "Not sent yet, and kept in this browser; trying again …";
    await pause();
  }
}

async function act(event, button = null) {
  if (ELSEWHERE.includes(event.act)) asked = "";
  const { status, told } = await post(event);
  if (SHUT_OUT.includes(status)) { // it waits in this browser for whoever pressed it
    latest.textContent = `${told.error.message} What you pressed is kept in this browser: load this page again.`;
    return;
  }
  kept.remove(event);
  const problem = status === 200 ? told.results[0].problems[0] : told.error;
  if (problem) {
    latest.textContent = problem.message ?? `${problem.value} ${problem.says}: ${problem.remedy}`;
    return;
  }
  if (event.act === "finish") {
    location.assign(practice.dataset.debrief);
    return;
  }
  if (!show(parsed(told.now))) await shown();
  if (event.act === "do" && button && !now().querySelector("[data-covered]")) button.dataset.done = "yes";
  if (event.act === "record") back();
  if (button && document.activeElement === document.body) {
    (now().querySelector(".notes button, summary") ?? practice).focus({ preventScroll: true });
  }
}

const then = (work) => { queue = queue.then(work); };

// What another window of the run did is shown here as well, once this one is looked at.
let isOld = false;
function renew() {
  if (!isOld || document.hidden) return;
  isOld = false;
  then(shown);
}
const kept = new Kept(document.body.dataset.author, practice.dataset.now, () => { isOld = true; renew(); });
document.addEventListener("visibilitychange", renew);

/** Keep what a form says, and send it when its turn comes. */
function press(form, button) {
  const event = eventOf(form, button, (performance.now() - since) / 1000);
  kept.add(event);
  since = performance.now();
  if ("said" in form.dataset) form.dataset.said = meant(form);
  then(() => act(event, button));
}

const pressed = { button: null, at: 0 };
practice.addEventListener("submit", (submitted) => {
  const { target, submitter } = submitted;
  if (!target.matches("[data-acts]") || !submitter?.value) return;
  submitted.preventDefault();
  if (submitter === pressed.button && performance.now() - pressed.at < REST) return;
  Object.assign(pressed, { button: submitter, at: performance.now() });
  if (JSON.parse(submitter.value).act === "finish") { // what stands there unsaid is said with it
    if (![...thoughts].every((form) => form.reportValidity())) return;
    for (const form of thoughts) if (form.dataset.said !== meant(form)) press(form, form.querySelector("[name=event]"));
  }
  press(target, submitter);
});

practice.addEventListener("click", (clicked) => {
  const link = clicked.target.closest("a[data-show]");
  if (!link || clicked.ctrlKey || clicked.metaKey || clicked.shiftKey) return;
  clicked.preventDefault();
  asked = link.dataset.show;
  then(async () => {
    try { draw(await fetched(`${onScreen()}&show=${asked}`)); } catch { latest.textContent = "No connection: it cannot be drawn now."; }
  });
});

addEventListener("pageshow", (back) => {
  if (back.persisted) then(shown);
});

step(practice);
once(practice.querySelector(".believe"));
lead(practice);
mountFinding();
for (const form of thoughts) form.dataset.said = meant(form);
if (stage()) mountPlayers(stage(), { begin: true });
for (const event of kept.all()) then(() => act(event)); // pressed before this page was loaded
tick();
setInterval(tick, 500);
