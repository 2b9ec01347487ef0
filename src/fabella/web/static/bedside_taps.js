// A walk tapped at each heel strike, on two large buttons or with the keys R and L; kept, it is the cadence.

import { h } from "./dom.js";
import { pace } from "./bedside_pace.js";

const METHOD = "taps at heel strike";
const STORED = `taps ${location.pathname}`;
const ERROR = /(^|; )standard error .* steps\/min, of \d+ steps$/;
const signed = (value, digits) => {
  const size = Math.abs(value).toFixed(digits);
  return `${Number(size) === 0 ? "" : value < 0 ? "−" : "+"}${size}`;
};

const remembered = {
  read: () => { try { return JSON.parse(sessionStorage.getItem(STORED)) ?? []; } catch { return []; } },
  keep: (taps) => { try { sessionStorage.setItem(STORED, JSON.stringify(taps)); } catch { /* private window: as long as this is open */ } },
};

/** The taps of a walk; `finding()` is what stands already, `keep(finding)` is called with the new one. */
export function taps({ sign, finding, keep }) {
  let contacts = remembered.read(), origin = null, walking = true;
  const feet = [["right", "R"], ["left", "L"]].map(([foot, key]) => {
    const button = h("button", { type: "button", class: "foot", "aria-keyshortcuts": key }, h("span", { text: foot === "right" ? "Right" : "Left" }), h("kbd", { text: key, "aria-hidden": "true" }));
    button.addEventListener("pointerdown", (event) => { if (event.button === 0) tap(foot, event.timeStamp, button); });
    button.addEventListener("click", (event) => { if (event.detail === 0) tap(foot, event.timeStamp, button); }); // by the keyboard, or read aloud
    return button;
  });
  const says = h("p", { class: "paced" }), told = h("ul", { class: "left-out" });
  const undo = h("button", { type: "button", class: "quiet", text: "Undo the last tap", onclick: () => { contacts = contacts.slice(0, -1); show(); } });
  const stop = h("button", { type: "button", text: "Stop", onclick: () => { walking = false; show(); (take.disabled ? undo : take).focus(); } });
  const again = h("button", { type: "button", class: "quiet", text: "Start again", onclick: () => { contacts = []; origin = null; walking = true; show(); feet[0].focus(); } });
  const take = h("button", { type: "button", class: "main", onclick: kept });
  const whole = h("details", { class: "taps" }, h("summary", { text: "Tap the steps instead" }),
    h("p", { class: "how", text: "Tap each time a heel meets the ground; the first and last two taps do not count. The keys R and L do the same." }),
    h("div", { class: "feet" }, ...feet), says, told, h("div", { class: "ending" }, stop, take, undo, again));

  function tap(foot, stamp, button) {
    if (!walking) return;
    origin ??= stamp;
    contacts = [...contacts, { foot, at: Math.round(stamp - origin) / 1000 }];
    button.classList.add("down");
    setTimeout(() => button.classList.remove("down"), 120);
    show();
  }

  function show() {
    remembered.keep(contacts);
    const found = pace(contacts), known = found.cadence !== undefined, earlier = finding()?.value;
    for (const each of feet) each.disabled = !walking;
    says.setAttribute("aria-live", walking ? "off" : "polite");
    says.textContent = known
      ? `${found.cadence.toFixed(1)} ± ${found.cadenceError.toFixed(1)} steps a minute, of ${found.steps} steps. Right step less left: ${signed(found.difference, 2)} ± ${found.differenceError.toFixed(2)} s (${signed(found.asymmetry, 0)} %).`
      : `${contacts.length} taps; ${found.steps} steady steps of the six that are needed.`;
    told.replaceChildren(...(walking ? [] : found.told.map((text) => h("li", { text }))));
    undo.disabled = again.disabled = !contacts.length;
    stop.disabled = !walking || !contacts.length;
    const fits = known && found.cadence >= sign.measure.low && found.cadence <= sign.measure.high;
    take.disabled = walking || !fits;
    take.textContent = fits ? `Keep ${found.cadence.toFixed(1)}${earlier === undefined ? "" : ` instead of ${earlier}`}` : "Keep";
  }

  function kept() {
    const found = pace(contacts), own = finding()?.note?.replace(ERROR, "") ?? "";
    const note = [own, `standard error ${found.cadenceError.toFixed(2)} ${sign.measure.unit}, of ${found.steps} steps`].filter(Boolean).join("; ");
    contacts = [];
    remembered.keep(contacts);
    keep({ sign: sign.id, value: Number(found.cadence.toFixed(1)), unit: sign.measure.unit, method: METHOD, note });
  }

  whole.addEventListener("keydown", (event) => {
    const foot = { r: "right", l: "left" }[event.key.toLowerCase()];
    if (!whole.open || !foot || event.repeat || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    tap(foot, event.timeStamp, feet[foot === "right" ? 0 : 1]);
  });
  whole.addEventListener("toggle", () => { if (whole.open) feet[0].focus({ preventScroll: true }); });
  if (contacts.length) { whole.open = true; walking = false; }
  show();
  return whole;
}
