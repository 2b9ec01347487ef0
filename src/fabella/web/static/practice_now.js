// The part of a run that changes with what is done. The server sends what is not on the screen; the rest stays there.

import { mountPlayers } from "./figure_player.js";

export const now = () => document.getElementById("now");
export const stage = () => document.getElementById("stage");

/** What is on the screen, as the server is told it: how many events, and which drawing. */
export function onScreen() {
  const drawn = stage() ? `&drawn=${stage().dataset.key}` : "";
  return `shown=${now().dataset.turns}${drawn}`;
}

/** Put another drawing on the stage; one that is there already goes on. */
export function draw(content) {
  const made = content.getElementById("stage");
  if (!made || made.dataset.key === stage().dataset.key) return;
  const had = stage().contains(document.activeElement) ? document.activeElement.dataset.show : null;
  stage().replaceWith(made);
  if (had) stage().querySelector(`[data-show="${had}"]`)?.focus({ preventScroll: true });
  mountPlayers(stage(), { begin: true });
}

/** Put what was sent in its place; false, and nothing is touched, where something that it leaves out is not there. */
export function put(content) {
  const made = content.getElementById("now");
  const rows = new Map([...now().querySelectorAll("[data-note]")].map((each) => [each.dataset.note, each]));
  const known = [...made.querySelectorAll("[data-known]")];
  const before = now().querySelector(".so-far ol"), after = made.querySelector(".so-far ol[data-goes-on]");
  if (known.some((each) => !rows.has(each.dataset.note)) || (after && !before)) return false;
  const had = now().contains(document.activeElement) ? document.activeElement : null;
  for (const each of known) each.replaceWith(rows.get(each.dataset.note));
  after?.append(...before.children);
  const open = new Set([...now().querySelectorAll("details[open]")].map((each) => each.dataset.part));
  draw(content);
  now().replaceWith(made);
  for (const each of now().querySelectorAll("details")) each.open = open.has(each.dataset.part);
  if (had?.isConnected) had.focus({ preventScroll: true }); // rows that stay are moved, which loses it
  return true;
}
