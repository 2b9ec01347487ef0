// A practice run: what a button says is posted as an event, once, and what it brought comes back in words.
// Without this file the same buttons send the same events as forms.

const practice = document.getElementById("practice");
const clock = document.getElementById("clock");
const latest = document.getElementById("latest");
const AGAIN = 2000; // milliseconds until what was not answered is sent again

let since = performance.now(); // when the last thing was shown
let queue = Promise.resolve();

const now = () => document.getElementById("now");
const words = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
const pause = () => new Promise((done) => setTimeout(done, AGAIN));
const newId = () =>
  Array.from(crypto.getRandomValues(new Uint8Array(16)), (each) => each.toString(16).padStart(2, "0")).join("");

function tick() {
  const limit = Number(now().dataset.limit);
  const spent = Number(now().dataset.clock) + (performance.now() - since) / 1000;
  const isUp = limit > 0 && spent >= limit;
  clock.toggleAttribute("data-up", isUp);
  if (isUp) clock.textContent = "Time is up: say what you think";
  else clock.textContent = limit > 0 ? `${words(spent)} of ${words(limit)}` : words(spent);
}

/** The event of a form: what its button carries, and what was typed beside it. */
function eventOf(form, button) {
  const event = JSON.parse(button.value);
  const typed = new FormData(form);
  if (event.act === "record" && typed.get("value")) event.value = Number(typed.get("value"));
  if (event.act === "believe") {
    const chances = typed.getAll("chance");
    event.beliefs = typed
      .getAll("lesion")
      .map((lesion, at) => [lesion, Number(chances[at] || 0) / 100])
      .filter(([lesion]) => lesion);
  }
  if (event.act === "complete") {
    event.would = String(typed.get("would")).split(/[;\n]/).map((each) => each.trim()).filter(Boolean);
  }
  return event;
}

/** Fetch how the run stands, and show it. */
async function show() {
  const answer = await fetch(practice.dataset.now, { cache: "no-store" });
  if (!answer.ok) throw new Error(answer.statusText);
  const html = await answer.text();
  const open = new Set([...now().querySelectorAll("details[open]")].map((each) => each.dataset.part));
  const made = document.createElement("template");
  made.innerHTML = html;
  now().replaceWith(made.content.getElementById("now"));
  for (const each of now().querySelectorAll("details")) each.open = open.has(each.dataset.part);
  latest.textContent = now().querySelector("[data-latest]").textContent;
  since = performance.now();
  tick();
}

/** Post one event until it is answered: a repeat is answered the same. */
async function post(event) {
  const token = document.querySelector("[name=csrfmiddlewaretoken]").value;
  const body = JSON.stringify({ events: [event] });
  const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
  for (;;) {
    try {
      const answer = await fetch(practice.dataset.events, { method: "POST", headers, body });
      if (answer.status < 500) return { ok: answer.ok, told: await answer.json() };
    } catch {
      // no connection: the same again
    }
    latest.textContent = "Not sent yet; trying again …";
    await pause();
  }
}

/** Show how the run stands, however often it has to be asked for. */
async function shown() {
  for (;;) {
    try {
      return await show();
    } catch {
      latest.textContent = "Kept; the answer is still awaited …";
      await pause();
    }
  }
}

async function act(event, button) {
  const { ok, told } = await post(event);
  const problem = ok ? told.results[0].problems[0] : told.error;
  if (problem) {
    latest.textContent = problem.message ?? `${problem.value} ${problem.says}: ${problem.remedy}`;
    return;
  }
  if (event.act === "finish") {
    location.assign(practice.dataset.debrief);
    return;
  }
  if (event.act === "do") button.dataset.done = "yes";
  await shown();
  if (!button.isConnected && document.activeElement === document.body) {
    (now().querySelector(".notes button, summary") ?? practice).focus({ preventScroll: true });
  }
}

practice.addEventListener("submit", (submitted) => {
  const { target, submitter } = submitted;
  if (!target.matches("[data-acts]") || !submitter?.value) return;
  submitted.preventDefault();
  const thought = Math.max(0, (performance.now() - since) / 1000);
  const event = { ...eventOf(target, submitter), id: newId(), thought_s: Math.min(14400, Math.round(thought * 10) / 10) };
  since = performance.now();
  queue = queue.then(() => act(event, submitter));
});

for (const button of practice.querySelectorAll("[data-step]")) {
  button.hidden = false;
  button.addEventListener("click", () => {
    const field = button.parentElement.querySelector("input");
    field.value = Math.min(100, Math.max(0, Number(field.value || 0) + Number(button.dataset.step)));
  });
}

addEventListener("pageshow", (back) => {
  if (back.persisted) queue = queue.then(shown);
});

tick();
setInterval(tick, 500);
