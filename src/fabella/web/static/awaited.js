// What is being worked out is asked for again until it is there: without this file a button does the same. Its form
// may say how soon, where the server waits a moment with each answer (`data-every`), and that what is there already
// is shown meanwhile (`data-grows`).

const EVERY = 1200; // milliseconds
const waiting = (root) => root.querySelector("form[data-awaited]");
const pause = () => Number(waiting(document)?.dataset.every ?? EVERY);

/** Send a form as its button would. */
function sent(form) {
  const typed = new FormData(form), address = new URL(form.getAttribute("action") || location.href, location.href); // a button may be named "action"
  if (form.method === "post") return fetch(address, { method: "POST", body: typed, cache: "no-store" });
  address.search = new URLSearchParams(typed).toString();
  return fetch(address, { cache: "no-store" });
}

async function ask() {
  const form = waiting(document);
  if (!form) return;
  try {
    const answer = await sent(form);
    if (answer.redirected) {
      location.replace(answer.url);
      return;
    }
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.getElementById(form.dataset.awaited), part = document.getElementById(form.dataset.awaited);
    const isThere = fresh !== null && !waiting(fresh);
    const grows = fresh !== null && "grows" in form.dataset && !part.contains(document.activeElement); // nobody loses the button under the finger
    if (isThere || grows) part.replaceWith(document.adoptNode(fresh));
    if (isThere) {
      dispatchEvent(new Event("arrived"));
      return;
    }
  } catch {
    // no connection, or the server is busy: again in a while
  }
  setTimeout(ask, pause());
}

setTimeout(ask, pause());
