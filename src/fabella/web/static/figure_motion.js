// A motion as the server sends it: paths in key positions with the same commands, blended number by number.

import { svg } from "./dom.js";

const NUMBER = /-?(?:\d+\.?\d*|\.\d+)/g;
const fetched = new Map(); // address → motion: what was done once stays as it was

/** Fetch a motion, once. */
export async function fetchMotion(address) {
  if (!fetched.has(address)) {
    const answer = await fetch(address);
    if (!answer.ok) throw new Error(answer.statusText);
    fetched.set(address, await answer.json());
  }
  return fetched.get(address);
}

/** A motion drawn as an SVG of its own, `svg`; `show(pct)` moves it. */
export class Drawn {
  #moving = [];

  constructor(motion) {
    this.motion = motion;
    this.svg = svg("svg", { class: "figure", viewBox: `0 0 ${motion.width} ${motion.height}`, role: "img",
      "aria-label": motion.title, "stroke-linejoin": "round", "stroke-linecap": "round" });
    for (const { tone, weight, frames } of motion.parts) {
      const path = svg("path", { class: `f-${tone}`, "stroke-width": weight, d: frames[0] });
      this.svg.append(path);
      if (frames.length > 1) this.#moving.push({ path, words: frames[0].split(NUMBER).map((each) => each || " "), numbers: frames.map(read) });
    }
  }

  /** Show the position at so much of the duration, 0 to 100. */
  show(pct) {
    const keys = this.motion.keys_pct;
    let at = keys.findIndex((key) => key >= pct);
    if (at < 0) at = keys.length - 1;
    const before = Math.max(0, at - 1);
    const share = keys[at] > keys[before] ? (pct - keys[before]) / (keys[at] - keys[before]) : 1;
    for (const { path, words, numbers } of this.#moving) {
      const from = numbers[before], to = numbers[at];
      let d = words[0];
      for (let i = 0; i < from.length; i += 1) d += Math.round(from[i] + share * (to[i] - from[i])) + words[i + 1];
      path.setAttribute("d", d);
    }
  }
}

const read = (frame) => Float32Array.from(frame.match(NUMBER), Number);

/** How much of the way is done after a share of the time, by the name of a timing function of CSS. */
export function eased(ease, share) {
  const named = { linear: [0, 0, 1, 1], "ease-in-out": [0.42, 0, 0.58, 1] };
  const [x1, y1, x2, y2] = named[ease] ?? ease.match(/-?[\d.]+/g).map(Number);
  const bezier = (a, b, t) => 3 * a * t * (1 - t) ** 2 + 3 * b * t * t * (1 - t) + t ** 3;
  let low = 0, high = 1;
  for (let i = 0; i < 20; i += 1) {
    const middle = (low + high) / 2;
    if (bezier(x1, x2, middle) < share) low = middle;
    else high = middle;
  }
  return bezier(y1, y2, low);
}
