// A form of the run as the event it means; without scripts the server puts the same together.

import { randomId } from "./outbox_sending.js";

const LONGEST = 14400; // seconds

/** The event of a form: what its button carries, what was typed beside it, its own id and the thought before it. */
export function eventOf(form, button, thought) {
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
  return { ...event, id: randomId(), thought_s: Math.min(LONGEST, Math.max(0, Math.round(thought * 10) / 10)) };
}

/** What a form would say as it stands, to compare with what it said before. */
export function meant(form) {
  const { beliefs, would } = eventOf(form, form.querySelector("[name=event]"), 0);
  return JSON.stringify([beliefs, would]);
}

/** Tell at its place what a differential names a second time; the browser sends no such form. */
export function once(form) {
  const lesions = [...form.querySelectorAll("[name=lesion]")];
  const tell = () => lesions.forEach((field, at) => {
    const told = document.getElementById(field.getAttribute("aria-describedby"));
    told.hidden = !field.value || !lesions.slice(0, at).some((each) => each.value === field.value);
    if (told.hidden) field.removeAttribute("aria-invalid");
    else field.setAttribute("aria-invalid", "true");
    field.setCustomValidity(told.hidden ? "" : told.textContent);
  });
  form.addEventListener("change", tell);
  tell(); // a browser may fill in what was chosen before
}

/** Let the buttons beside a number step it. */
export function step(root) {
  for (const button of root.querySelectorAll("[data-step]")) {
    button.hidden = false;
    button.addEventListener("click", () => {
      const field = button.parentElement.querySelector("input");
      field.value = Math.min(100, Math.max(0, Number(field.value || 0) + Number(button.dataset.step)));
    });
  }
}
