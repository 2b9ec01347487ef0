// What stands on the sheet in this browser: the server's state, and on top of it what was made here since.

import { SIDES } from "./bedside_words.js";

/** The places of a position that one touch marks as normal, as the server does it (`places_marked_normal`). */
export function covered(position, side = null) {
  return position.signs.filter((sign) => sign.covered).flatMap((sign) => {
    if (sign.person) return side === null ? [[sign.id, null]] : [];
    return (side === null ? SIDES : [side]).map((each) => [sign.id, each]);
  });
}

const keyOf = (part, name, side) => `${part} ${name} ${side ?? ""}`;
const isPlainNormal = (finding) => finding?.state === "normal" && Object.keys(finding).every((key) => ["sign", "side", "state"].includes(key));

export class Sheet {
  version = 0;
  #positions;
  #stated = new Map();
  #summaries = new Map(); // sign → the signs that sum it up
  #changed;

  /** `changed()` is called after every change of what stands here. */
  constructor(positions, changed) {
    this.#positions = new Map(positions.map((each) => [each.id, each]));
    this.#changed = changed;
    for (const { id, sums = [] } of positions.flatMap((each) => each.signs)) {
      for (const part of sums) this.#summaries.set(part, [...(this.#summaries.get(part) ?? []), id]);
    }
  }

  /** Take the server's state, with the operations that stand above it. */
  replace(state, above) {
    const stated = new Map(), { examination } = state;
    for (const finding of examination.findings ?? []) stated.set(keyOf("finding", finding.sign, finding.side), finding);
    for (const [item, value] of Object.entries(examination.history ?? {})) stated.set(keyOf("history", item), value);
    for (const [field, value] of Object.entries(examination.context ?? {})) stated.set(keyOf("context", field), value);
    for (const { image, side, ...result } of examination.imaging ?? []) stated.set(keyOf("imaging", image, side), { image, side, ...result });
    for (const field of ["consent_given", "chaperone_offered", "pain_asked", "conclusion_hidden"]) {
      if (typeof examination[field] === "boolean") stated.set(keyOf("conduct", field), examination[field]);
    }
    this.#stated = stated;
    this.version = state.version;
    for (const each of above) this.#apply(each);
    this.#changed();
  }

  apply(operations) {
    for (const each of operations) this.#apply(each);
    this.#changed();
  }

  finding(sign, side) { return this.#stated.get(keyOf("finding", sign, side)) ?? null; }
  /** Whether something is said of a sign: by itself, or by an abnormal sign that sums it up. */
  isSaid(sign, side) { return this.finding(sign, side) !== null || this.#isSummedUp(sign, side); }
  history(item) { return this.#stated.get(keyOf("history", item)) ?? null; }
  context(field) { return this.#stated.get(keyOf("context", field)) ?? null; }
  imaging(image, side) { return this.#stated.get(keyOf("imaging", image, side)) ?? null; }
  get imaged() { return [...this.#stated].filter(([key]) => key.startsWith("imaging ")).map(([, image]) => image); }
  conduct(field) { return this.#stated.get(keyOf("conduct", field)) ?? null; }
  get examined() { return [...this.#stated.keys()].some((key) => key.startsWith("finding ")); }

  #isSummedUp(sign, side) { return (this.#summaries.get(sign) ?? []).some((each) => this.finding(each, side)?.state === "abnormal"); }

  /** The changes that bring back what now stands in the places that some changes will touch. */
  undoing(changes) {
    const back = [];
    for (const change of changes) {
      switch (change.change) {
        case "set_finding": // an abnormal summary takes back what one touch for the position said of its parts
          for (const [part, summaries] of change.finding.state === "abnormal" ? this.#summaries : []) {
            if (summaries.includes(change.finding.sign) && this.finding(part, change.finding.side)) back.push(this.#findingBack(part, change.finding.side));
          }
          back.push(this.#findingBack(change.finding.sign, change.finding.side));
          break;
        case "remove_finding": back.push(this.#findingBack(change.sign, change.side)); break;
        case "mark_normal": back.push({ ...change, change: "unmark_normal" }); break;
        case "unmark_normal": back.push({ ...change, change: "mark_normal" }); break;
        case "set_history": back.push({ ...change, value: this.history(change.item) }); break;
        case "set_context": back.push({ ...change, value: this.context(change.field) }); break;
        case "set_conduct": back.push({ ...change, value: this.conduct(change.field) }); break;
        case "set_imaging": back.push(this.#imageBack(change)); break;
        default: break;
      }
    }
    return back.reverse();
  }

  #findingBack(sign, side) {
    const finding = this.finding(sign, side);
    return finding ? { change: "set_finding", finding } : { change: "remove_finding", sign, ...(side ? { side } : {}) };
  }

  #imageBack({ image, side }) {
    const { image: _, side: __, ...result } = this.imaging(image, side) ?? {};
    return { change: "set_imaging", image, side, result: this.imaging(image, side) && result };
  }

  #apply(change) {
    const set = (key, value) => (value === null || value === undefined ? this.#stated.delete(key) : this.#stated.set(key, value));
    switch (change.change) {
      case "set_finding": set(keyOf("finding", change.finding.sign, change.finding.side), change.finding); break;
      case "remove_finding": set(keyOf("finding", change.sign, change.side), null); break;
      case "set_history": set(keyOf("history", change.item), change.value); break;
      case "set_context": set(keyOf("context", change.field), change.value); break;
      case "set_conduct": set(keyOf("conduct", change.field), change.value); break;
      case "set_imaging": set(keyOf("imaging", change.image, change.side), change.result && { image: change.image, side: change.side, ...change.result }); break;
      case "mark_normal": case "unmark_normal": this.#touch(change); break;
      default: break;
    }
  }

  #touch({ change, position, side = null }) {
    for (const [sign, at] of covered(this.#positions.get(position), side)) {
      const key = keyOf("finding", sign, at), stands = this.#stated.get(key);
      if (change === "mark_normal" && !stands && !this.#isSummedUp(sign, at)) this.#stated.set(key, { sign, ...(at ? { side: at } : {}), state: "normal" });
      if (change === "unmark_normal" && isPlainNormal(stands)) this.#stated.delete(key);
    }
  }
}
