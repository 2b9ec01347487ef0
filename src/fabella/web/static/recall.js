// What earlier visits told and this one does not: fetched by itself, so that nothing waits for it.

const AWAITED = 1000; // milliseconds until what is still being worked out is asked for again

const title = (summary) => (summary.querySelector(".lesion") ?? summary).firstChild?.textContent;

/** The titles of what is open in a place. */
export const titles = (place) => new Set([...place.querySelectorAll("details[open] > summary")].map(title));

/** Open again what was open. */
export function reopen(place, open) {
  for (const summary of place.querySelectorAll("summary")) if (open.has(title(summary))) summary.parentElement.open = true;
}

/** Fill the part of a page that is for it, and call `told` after each answer; ask again while it is being worked out. */
export async function recall(page, told = () => {}) {
  const place = page.querySelector("[data-earlier]");
  if (!place) return;
  try {
    const answer = await fetch(place.dataset.earlier, { headers: { Accept: "text/html" }, cache: "no-store" });
    if (!answer.ok || !place.isConnected) return;
    const open = titles(place);
    place.innerHTML = await answer.text(); // our own page, escaped where it was made
    reopen(place, open);
  } catch { /* what was told last stands; it is asked for with the next change */ }
  told();
  if (place.querySelector("[data-awaited]")) setTimeout(() => place.isConnected && recall(page, told), AWAITED);
}
