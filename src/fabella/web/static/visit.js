// A visit that is open on several devices: asks whether anything is new, and shows it.
import { follow } from "./follow.js";

const now = document.getElementById("now");
if (now && !("signed" in now.dataset)) {
  follow(now.dataset.state, `"${now.dataset.version}-open"`, async () => {
    const answer = await fetch(now.dataset.part, { headers: { Accept: "text/html" } });
    if (!answer.ok) return;
    const open = new Set([...now.querySelectorAll("details[open] > summary")].map((each) => each.textContent));
    now.innerHTML = await answer.text(); // our own page, escaped where it was made
    for (const summary of now.querySelectorAll("summary")) {
      if (open.has(summary.textContent)) summary.parentElement.open = true;
    }
  });
}
