// What is being worked out is asked for again until it is there: without this file a button does the same. Its form
// may say how soon, where the server waits a moment with each answer (`data-every`).

const EVERY = 1200; // milliseconds
const pause = () => Number(document.querySelector("form[data-awaited]")?.dataset.every ?? EVERY);

async function ask() {
  const form = document.querySelector("form[data-awaited]");
  if (!form) return;
  try {
    const address = form.getAttribute("action") || location.href; // a button of the form may be named "action"
    const answer = await fetch(address, { method: "POST", body: new FormData(form), cache: "no-store" });
    if (answer.redirected) {
      location.replace(answer.url);
      return;
    }
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.getElementById(form.dataset.awaited);
    if (fresh && !fresh.querySelector("form[data-awaited]")) {
      document.getElementById(form.dataset.awaited).replaceWith(document.adoptNode(fresh));
      dispatchEvent(new Event("arrived"));
      return;
    }
  } catch {
    // no connection, or the server is busy: again in a while
  }
  setTimeout(ask, pause());
}

setTimeout(ask, pause());
