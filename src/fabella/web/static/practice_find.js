// Finding what to do by its name: whatever is not called so is put away until the field is empty again.

import { called } from "./called.js";

/** Let the field above what can be done narrow it, and tell how much is left. */
export function mountFinding() {
  const field = document.getElementById("find-what"), told = document.getElementById("found-acts");
  const places = [...document.querySelectorAll("#acts .place")].map((place) => ({
    place,
    kinds: [...place.querySelectorAll(".kind")],
    offers: [...place.querySelectorAll(".offers li")].map((row) => ({
      row, text: `${(row.querySelector("span") ?? row).textContent} ${row.dataset.also ?? ""}`.toLowerCase(),
    })),
  }));
  let wasOpen = null; // the positions that were open before anything was looked for

  function narrow() {
    const isCalled = called(field.value);
    if (isCalled && !wasOpen) wasOpen = new Set(places.filter(({ place }) => place.open));
    let left = 0;
    for (const each of places) {
      for (const { row, text } of each.offers) row.hidden = isCalled !== null && !isCalled(text);
      for (const kind of each.kinds) kind.hidden = !kind.querySelector("li:not([hidden])");
      const found = each.offers.filter(({ row }) => !row.hidden).length;
      left += found;
      each.place.hidden = isCalled !== null && !found;
      if (isCalled) each.place.open = found > 0;
      else if (wasOpen) each.place.open = wasOpen.has(each);
    }
    if (!isCalled) wasOpen = null;
    if (!isCalled) told.textContent = "";
    else if (left) told.textContent = left === 1 ? "One thing is called so." : `${left} things are called so.`;
    else told.textContent = "Nothing is called so: another word, or look through the positions.";
  }

  field.addEventListener("input", narrow);
  document.getElementById("find-act").hidden = false;
  if (field.value) narrow(); // a browser that comes back to the page puts in what was typed
}
