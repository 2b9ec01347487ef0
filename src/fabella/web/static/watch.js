// Renews the day every few seconds, and leaves in peace what has not changed and whoever stands in it.

const EVERY = 4000; // milliseconds
const now = document.getElementById("now"), stale = document.getElementById("stale");
let last = null;

async function renew() {
  if (document.hidden) return;
  try {
    const answer = await fetch(now.dataset.address, { cache: "no-store", headers: { Accept: "text/html" }, redirect: "error" });
    if (!answer.ok) throw new Error(String(answer.status));
    show(await answer.text());
    stale.hidden = true;
  } catch { stale.hidden = false; }
}

function show(text) {
  if (text === last) return;
  last = text;
  const made = document.createElement("template"), open = new Set([...now.querySelectorAll("details[open]")].map((each) => each.dataset.keep));
  made.innerHTML = text; // our own page, escaped where it was made
  for (const each of made.content.querySelectorAll("details")) each.open = open.has(each.dataset.keep);
  const stood = now.contains(document.activeElement) ? name(document.activeElement) : null;
  now.replaceChildren(made.content);
  if (stood) [...now.querySelectorAll("a, summary")].find((each) => name(each) === stood)?.focus({ preventScroll: true });
}

const name = (element) => element.getAttribute("href") ?? element.parentElement?.dataset.keep ?? null;

setInterval(renew, EVERY);
document.addEventListener("visibilitychange", renew);
