// A visit that is open on several devices: asks whether anything is new, and shows it.
import { follow } from "./follow.js";
import { recall } from "./recall.js";

const now = document.getElementById("now");

/** Draw both knees from the side: each half of the drawing by itself, so that they stack where the place is narrow. */
async function drawFromSide(fold, again) {
  const answer = await fetch(again ? `${fold.dataset.side}?again` : fold.dataset.side, { cache: "no-store" });
  if (!answer.ok || !fold.isConnected) return;
  const figure = fold.querySelector("figure");
  figure.innerHTML = await answer.text(); // our own drawing
  const right = figure.firstElementChild;
  const { width, height } = right.viewBox.baseVal;
  for (const name of ["width", "height"]) right.removeAttribute(name);
  const left = right.cloneNode(true);
  right.setAttribute("viewBox", `0 0 ${width / 2} ${height}`);
  left.setAttribute("viewBox", `${width / 2} 0 ${width / 2} ${height}`);
  left.setAttribute("aria-hidden", "true"); // the other half says what both show
  figure.append(left);
}
now?.addEventListener("toggle", ({ target }) => {
  if (target.open && "side" in target.dataset && !target.querySelector("svg")) drawFromSide(target, target.hasAttribute("data-again"));
}, true);

if (now && !("signed" in now.dataset)) {
  recall(now);
  const patient = (mark) => mark.split("-").pop();
  follow(now.dataset.state, now.dataset.mark, async (news) => {
    if (patient(news.mark) !== patient(now.dataset.mark)) { location.reload(); return; } // the details were corrected
    const answer = await fetch(now.dataset.part, { headers: { Accept: "text/html" } });
    if (!answer.ok) return;
    const open = new Set([...now.querySelectorAll("details[open] > summary")].map((each) => each.textContent));
    now.innerHTML = await answer.text(); // our own page, escaped where it was made
    for (const summary of now.querySelectorAll("summary")) {
      if (!open.has(summary.textContent)) continue;
      summary.parentElement.toggleAttribute("data-again", true);
      summary.parentElement.open = true;
    }
    recall(now);
  });
}
