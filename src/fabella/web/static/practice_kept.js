// What was pressed and not yet answered, kept by the browser until it is: it outlasts the page and the browser.
// One entry for each, so that two windows of one run do not write over each other; sending twice costs nothing.

const MARK = "practice";

/** The presses of one person's run that wait for an answer. */
export class Kept {
  #start;
  #loose = new Map(); // where the browser keeps nothing
  #last = 0; // when the last was kept: no two at once, so that they keep their order

  /** `answered` is called when a press of another window was answered. */
  constructor(author, run, answered) {
    this.#start = `${MARK} ${author} ${run} `;
    addEventListener("storage", ({ key, newValue }) => {
      if (newValue === null && key?.startsWith(this.#start)) answered();
    });
  }

  /** Keep an event; `at` puts it in its place. */
  add(event) {
    this.#last = Math.max(Date.now(), this.#last + 1);
    const entry = JSON.stringify({ at: this.#last, event });
    try { localStorage.setItem(this.#start + event.id, entry); } catch { this.#loose.set(event.id, entry); }
  }

  /** Let an event go: it is answered. */
  remove(event) {
    this.#loose.delete(event.id);
    try { localStorage.removeItem(this.#start + event.id); } catch { /* then it was never kept */ }
  }

  /** The events that wait, in the order in which they were pressed. */
  all() {
    const entries = [...this.#loose.values()];
    try {
      for (let i = 0; i < localStorage.length; i += 1) {
        const name = localStorage.key(i);
        if (name.startsWith(this.#start)) entries.push(localStorage.getItem(name));
      }
    } catch { /* nothing is kept */ }
    return entries.map((each) => JSON.parse(each)).sort((one, other) => one.at - other.at).map((each) => each.event);
  }
}
