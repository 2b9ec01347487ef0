// Nothing typed is lost: every change goes to the browser's own database first and from there to the server.
//
//   const outbox = await openOutbox({ visit, author, device, address, added, answered, state });
//   await outbox.add([{ base, change: "set_history", item: "locking", value: true }]);
//   outbox.above(version)   what to show on top of the server's state of that version, in order
//
// What an operation had on its screen is told by `base` and by `seen`: the operations above the base that were shown
// there too. So a window never overwrites what was entered unseen in another window of the same browser.

import { Sender } from "./outbox_sender.js";
import { answerOf, listen, openHere, randomId, tellOthers } from "./outbox_sending.js";
import { touchesSame } from "./outbox_statement.js";
import { isBy, openStore } from "./outbox_store.js";

const LONGEST_PAUSE = 30000; // milliseconds
const MOST_SEEN = 1000;
const nothing = () => {};

/**
 * Open the outbox of one visit. Nothing is called back, and nothing sent, before the first call of `above`.
 *
 * visit     number of the visit
 * author    account name of who is logged in; operations of others wait for them
 * device    name of this browser as the server gave it
 * address   where operations are sent (`api_operations`)
 * added     (operations) another window of this browser has added them: show them
 * answered  (answer, operations) the server has answered: `answer.results` are in the order of `operations`
 * state     (kind, waiting, more) for the status line; `kind` is saved, sending, waiting (no connection), refused
 *           or shut_out; `more`: `durable` false when the browser keeps nothing, `others` [{ author, number }] whose
 *           entries wait for them, `refused` number, `message` in words
 */
export async function openOutbox({
  visit, author, device = "", address, added = nothing, answered = nothing, state = nothing,
}) {
  openHere.add(Number(visit));
  dispatchEvent(new Event("outbox")); // `keeping.js` leaves this visit to us
  const outbox = new Outbox({ visit: Number(visit), author, device, address, added, answered, state });
  await outbox.begin();
  return outbox;
}

class Outbox {
  #known; // { visit, author, device, address, added, answered, state }
  #store;
  #sender;
  #entries = new Map(); // id → entry, in order: what this page shows of what was made in this browser
  #others = [];
  #said = "";
  #shown = false; // whether the page shows what is here: the first call of `above`

  constructor(known) { this.#known = known; }

  async begin() {
    this.#store = await openStore();
    navigator.storage?.persist?.().catch(nothing); // asked once; the browser need not agree
    const { visit, author, device } = this.#known;
    this.#sender = new Sender({
      to: { store: this.#store, visit, author, device },
      longest: LONGEST_PAUSE,
      waiting: () => this.#waiting(),
      read: () => this.#read(),
      answered: (answer, entries) => this.#answered(answer, entries),
      say: () => this.#say(),
    });
    listen(visit, () => this.#read().then(() => { if (this.#waiting().length && !this.#sender.busy) this.#sender.send(); }));
    await this.#read();
  }

  /**
   * Add changes, in order; each has the `base` that was on the screen. Resolves, with the operations, when they are on
   * the disk of this device; they are sent then.
   */
  async add(changes) {
    const entries = this.#made(changes);
    this.#say(); // nothing is saved before it is on the disk
    await this.#store.add(entries);
    tellOthers(this.#known.visit);
    this.#say();
    this.#sender.send();
    return entries.map((each) => each.operation);
  }

  /**
   * The same while the page is being closed, when a browser may finish nothing that takes a moment.
   */
  leave(changes) {
    this.#store.add(this.#made(changes)).catch(nothing);
    this.#sender.leave();
  }

  #made(changes) {
    const { visit, author, device, address } = this.#known;
    const entries = [];
    for (const change of [changes].flat()) {
      const id = randomId();
      const operation = { ...change, id, seen: this.#seen(change) };
      const made = { at: Date.now(), page: location.pathname };
      const entry = { id, visit, address, author, device, made, status: "waiting", version: null, problems: [], operation };
      this.#entries.set(id, entry);
      entries.push(entry);
    }
    return entries;
  }

  /** What is not acknowledged yet: how many, and the operations in order. */
  waiting() {
    const operations = this.#waiting().map((each) => each.operation);
    return { number: operations.length, operations };
  }

  /**
   * The operations to show on top of the server's state of a version: what waits, and what was kept after it.
   * Call it with each state that comes on the screen, first with the one that the page was loaded with: what that one
   * holds need not stay on this device. A copy of the page is as old as that, and what was kept since stays beside it.
   */
  above(version) {
    const old = this.#all().filter((each) => each.status === "kept" && each.version <= version);
    for (const each of old) this.#entries.delete(each.id);
    if (!this.#shown) {
      this.#shown = true;
      this.#store.remove(old).catch(nothing); // the next page tries again
      Promise.resolve().then(() => { this.#say(); this.#sender.start(); });
    }
    return this.#all().filter((each) => each.status !== "refused").map((each) => each.operation);
  }

  /** What the server refused: { operation, problems }, until it is dismissed. */
  refused() {
    return this.#with("refused").map(({ operation, problems }) => ({ operation, problems }));
  }

  /** Let a refused operation go: somebody has read it. */
  async dismiss(id) {
    const entry = this.#entries.get(id);
    if (entry?.status !== "refused") return;
    await this.#store.remove([entry]);
    this.#entries.delete(id);
    tellOthers(this.#known.visit);
    this.#say();
  }

  #with(status) {
    return this.#all().filter((each) => each.status === status);
  }

  #all() { // in the order in which they were made; what is still on its way to the disk comes last
    return [...this.#entries.values()].sort((one, other) => (one.order ?? Infinity) - (other.order ?? Infinity));
  }

  #waiting() { return this.#with("waiting"); }

  #durable() { return this.#store.keeps; }

  #seen(change) {
    const above = this.#all().filter(({ status, version, operation }) => (
      status !== "refused" && (version ?? Infinity) > change.base && touchesSame(operation, change)
    ));
    return above.slice(-MOST_SEEN).map((each) => each.id);
  }

  /** Read what the browser keeps: other windows add to it, and answers come to whichever sends. */
  async #read() {
    const { visit, author, device } = this.#known;
    const others = new Map(), news = [], settled = [];
    for (const each of await this.#store.all("status", "waiting")) {
      if (!isBy(each, author, device)) others.set(each.author, (others.get(each.author) ?? 0) + 1);
    }
    const ours = (await this.#store.all("visit", visit)).filter((each) => isBy(each, author, device));
    for (const each of ours) {
      const known = this.#entries.get(each.id);
      if (!known && each.status !== "kept") news.push(each);
      else if (!known && !this.#shown) this.#entries.set(each.id, each);
      else if (known?.status === "waiting" && each.status !== "waiting") settled.push(each);
    }
    for (const each of [...news, ...settled]) this.#entries.set(each.id, each);
    const here = new Set(ours.map((each) => each.id));
    for (const each of this.#with("refused")) if (!here.has(each.id)) this.#entries.delete(each.id); // dismissed
    this.#others = [...others].map(([name, number]) => ({ author: name, number }));
    const added = news.filter((each) => each.status === "waiting");
    if (added.length) this.#call("added", added.map((each) => each.operation));
    if (settled.length) this.#call("answered", answerOf(settled), settled.map((each) => each.operation));
    this.#say();
  }

  #answered(answer, entries) {
    for (const each of entries) this.#entries.set(each.id, each);
    tellOthers(this.#known.visit);
    this.#call("answered", answer, entries.map((each) => each.operation));
    this.#say();
  }

  #say() {
    const waiting = this.#waiting().length, refused = this.#with("refused").length;
    let { kind, message } = this.#sender.ended;
    if (kind === "failing") kind = "waiting";
    if (kind === "saved" && waiting) kind = "sending";
    if (kind === "saved" && refused) kind = "refused";
    const more = { durable: this.#durable(), others: this.#others, refused, message: message ?? "" };
    const said = JSON.stringify([kind, waiting, more]);
    if (said === this.#said || !this.#shown) return;
    this.#said = said;
    this.#call("state", kind, waiting, more);
  }

  /** Call the page back, once it has begun; what it does wrong stops nothing here. */
  #call(name, ...told) {
    if (!this.#shown) return;
    try { this.#known[name](...told); } catch (error) { reportError(error); }
  }
}
