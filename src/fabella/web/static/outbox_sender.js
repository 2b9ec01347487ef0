// Sends what waits until nothing does: again after pauses that grow, at once when the connection or the page comes back.

import { postUnkept, sendWaiting } from "./outbox_sending.js";

const FIRST_PAUSE = 1000; // milliseconds
const SAVED = { kind: "saved", message: "" };

export class Sender {
  /** How it stands: `kind` and `message` as `sendWaiting` returns them. */
  ended = SAVED;

  #known;
  #started = false;
  #busy = false;
  #again = false;
  #pause = FIRST_PAUSE;
  #timer = 0;

  /**
   * to        { store, visit, author, device }: what is sent, in whose name
   * longest   of the pauses, in milliseconds
   * waiting   () the entries that this page knows to wait
   * read      async () read what the browser keeps: another window may have sent
   * answered  (answer, entries) after each answer
   * say       () something of this may be news
   */
  constructor(known) {
    this.#known = known;
    for (const each of ["online", "pageshow", "focus"]) addEventListener(each, () => this.hurry());
    document.addEventListener("visibilitychange", () => document.hidden || this.hurry());
    addEventListener("pagehide", () => this.leave());
    addEventListener("beforeunload", (event) => { if (!known.to.store.keeps && known.waiting().length) event.preventDefault(); });
  }

  get busy() { return this.#busy; }

  /** Begin to send: nothing is sent before. */
  start() {
    this.#started = true;
    this.send();
  }

  async send() {
    if (!this.#started) return;
    if (this.#busy) { this.#again = true; return; }
    this.#busy = true;
    clearTimeout(this.#timer);
    const { to, longest, waiting, read, say } = this.#known;
    do {
      this.#again = false;
      this.ended = await sendWaiting({
        ...to,
        sending: () => { // while there is no connection, trying again is no news
          if (this.ended.kind === "saved") this.ended = { kind: "sending", message: "" };
          say();
        },
        answered: (answer, entries) => {
          this.#pause = FIRST_PAUSE;
          this.ended = SAVED;
          this.#known.answered(answer, entries);
        },
      }).catch((error) => ({ kind: "failing", message: String(error) }));
    } while (this.#again && this.ended.kind === "saved");
    this.#busy = false;
    if (this.ended.kind === "saved" && waiting().length) await read(); // another window has sent them
    say();
    if (this.ended.kind === "saved") { this.#pause = FIRST_PAUSE; return; }
    this.#timer = setTimeout(() => this.send(), this.#pause * (0.75 + Math.random() / 2)); // not all tablets at once
    this.#pause = Math.min(2 * this.#pause, longest);
  }

  /** Look for what waits, and send it now. */
  hurry() {
    this.#pause = FIRST_PAUSE;
    this.#known.read().then(() => this.send());
  }

  /** Do what can be done while the page is being closed. */
  leave() {
    postUnkept({ ...this.#known.to, waiting: this.#known.waiting() });
  }
}
