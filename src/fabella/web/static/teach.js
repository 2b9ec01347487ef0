// What is still being worked out is asked for again, until it is there: without this file a button does the same.

const EVERY = 1200; // milliseconds

/** Send a form as its button would, and return the page that comes back. */
async function sent(form) {
  const typed = new FormData(form);
  const address = new URL(form.getAttribute("action") || location.href, location.href);
  const isPost = form.method === "post";
  if (!isPost) address.search = new URLSearchParams(typed).toString();
  const answer = await fetch(address, { method: isPost ? "POST" : "GET", body: isPost ? typed : undefined, cache: "no-store" });
  if (!answer.ok) throw new Error(answer.statusText);
  return new DOMParser().parseFromString(await answer.text(), "text/html");
}

async function follow() {
  const form = document.querySelector("form[data-until]");
  if (!form) return;
  try {
    const part = document.getElementById(form.dataset.until);
    const fresh = (await sent(form)).getElementById(form.dataset.until);
    const isHeld = part.contains(document.activeElement); // nobody loses the button under the finger
    if (fresh && (!isHeld || !fresh.querySelector("form[data-until]"))) part.replaceWith(document.adoptNode(fresh));
  } catch {
    // no connection, or the server is busy: again in a while
  }
  setTimeout(follow, EVERY);
}

setTimeout(follow, EVERY);
