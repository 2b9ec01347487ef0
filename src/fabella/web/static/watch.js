// Renews the day every few seconds, and leaves in peace what has not changed and whoever stands in it.

const EVERY = 4000; // milliseconds
const now = document.getElementById("now"), stale = document.getElementById("stale");
let last = null;

const opened = () => [...now.querySelectorAll("details[open]")].map((each) => each.dataset.keep);

async function renew() {
  if (document.hidden) return;
  const asked = opened(), address = `${now.dataset.address}?${new URLSearchParams(asked.map((each) => ["open", each]))}`;
  try {
    const answer = await fetch(address, { cache: "no-store", headers: { Accept: "text/html" }, redirect: "error" });
    if (!answer.ok) throw new Error(String(answer.status));
    const text = await answer.text();
    if (String(opened()) !== String(asked)) return void renew(); // somebody opened a list meanwhile
    show(text);
    stale.hidden = true;
  } catch { stale.hidden = false; }
}

function show(text) {
  if (text === last) return;
  last = text;
  const made = document.createElement("template"), open = new Set(opened());
  made.innerHTML = text; // our own page, escaped where it was made
  for (const each of made.content.querySelectorAll("details")) each.open = open.has(each.dataset.keep);
  const stood = now.contains(document.activeElement) ? name(document.activeElement) : null;
  now.replaceChildren(made.content);
  if (stood) [...now.querySelectorAll("a, summary")].find((each) => name(each) === stood)?.focus({ preventScroll: true });
}

const name = (element) => element.getAttribute("href") ?? element.parentElement?.dataset.keep ?? null;

// The sheets of an examiner come while their list is open: of a large exam that is most of the page.
now.addEventListener("toggle", ({ target }) => { if (target.open && !target.querySelector("ul")) renew(); }, true);
setInterval(renew, EVERY);
document.addEventListener("visibilitychange", renew);
