// Nothing marked is lost: every event is on the disk of this device before it is sent, and goes in order, once.
//
// A smaller sibling of `outbox.js`, on the same store and sender. What was acknowledged stays for the day: a page that
// is opened without a connection is as old as its copy, and all that was marked here since stands beside it.

import { Sender } from "./outbox_sender.js";
import { listen, randomId, tellOthers } from "./outbox_sending.js";
import { openStore } from "./outbox_store.js";

const LONGEST_PAUSE = 15000; // milliseconds
const OLDEST = 16 * 60 * 60 * 1000;
const DEVICE = ""; // a tablet that lost its name may still send: whose marks they are tells the code that was entered
export const DATABASE = "marking";

/**
 * Open the queue of one examiner.
 *
 * person   the name of the examiner's pass; what others marked here waits for them
 * address  where events are sent
 * added    () another window has added events, or what was added is on the disk
 * answered ([{ candidate, station, number }]) places that the server gave, in order
 * state    (kind, waiting, { durable, others, message }); `kind` is saved, sending, waiting, shut_out, failing, refused
 */
export async function openQueue(known) {
  const queue = new Queue(known);
  await queue.begin();
  return queue;
}

class Queue {
  #known;
  #store;
  #sender;
  #entries = new Map(); // id → entry, in the order in which they were made
  #others = 0;

  constructor(known) { this.#known = known; }

  async begin() {
    this.#store = await openStore(DATABASE);
    navigator.storage?.persist?.().catch(() => {});
    const { person } = this.#known;
    this.#sender = new Sender({
      to: { store: this.#store, visit: person, author: person, device: DEVICE },
      longest: LONGEST_PAUSE,
      waiting: () => this.#with("waiting"),
      read: () => this.#read(),
      answered: (_, entries) => this.#answered(entries),
      say: () => this.#say(),
    });
    listen(person, () => this.#read());
    const old = (await this.#store.all()).filter((each) => each.status === "kept" && Date.now() - each.made.at > OLDEST);
    await this.#store.remove(old).catch(() => {});
    await this.#read();
    this.#sender.start();
  }

  /** Add events of one sheet, in order; they are on the screen at once, and sent when they are on the disk. */
  async add(sheet, events) {
    const { person, address } = this.#known, made = { at: Date.now() };
    const entries = events.map((event) => {
      const id = randomId(), operation = { id, candidate: sheet.candidate, station: sheet.station, ...event };
      return { id, visit: person, author: person, device: DEVICE, address, made, status: "waiting", version: null, problems: [], operation };
    });
    for (const each of entries) this.#entries.set(each.id, each);
    this.#say();
    await this.#store.add(entries);
    tellOthers(person);
    this.#say();
    this.#sender.send();
  }

  /** What stands on top of the server's state of a sheet, in order. */
  above(sheet) {
    return [...this.#entries.values()]
      .filter(({ status, version, operation }) => operation.candidate === sheet.candidate && operation.station === sheet.station
        && status !== "refused" && (version ?? Infinity) > sheet.number)
      .map((each) => each.operation);
  }

  /** How many events are not acknowledged. */
  get waiting() { return this.#with("waiting").length; }

  /** What the server refused: entries with their problems, until they are dismissed. */
  get refused() { return this.#with("refused"); }

  async dismiss(entry) {
    await this.#store.remove([entry]);
    this.#entries.delete(entry.id);
    this.#say();
  }

  hurry() { this.#sender.hurry(); }

  #with(status) { return [...this.#entries.values()].filter((each) => each.status === status); }

  async #read() {
    const all = await this.#store.all(), own = all.filter((each) => each.author === this.#known.person);
    this.#others = all.filter((each) => each.status === "waiting" && each.author !== this.#known.person).length;
    let isNew = false;
    for (const each of own) {
      const known = this.#entries.get(each.id);
      if (known && (known.status !== "waiting" || each.status === "waiting")) continue;
      this.#entries.set(each.id, each);
      isNew = true;
    }
    if (isNew) this.#known.added();
    this.#say();
  }

  #answered(entries) {
    for (const each of entries) this.#entries.set(each.id, each);
    tellOthers(this.#known.person);
    this.#known.answered(entries.filter((each) => each.status === "kept").map(({ operation, version }) => (
      { candidate: operation.candidate, station: operation.station, number: version }
    )));
    this.#say();
  }

  #say() {
    const { waiting } = this;
    let { kind, message } = this.#sender.ended;
    if (kind === "saved" && waiting) kind = "sending";
    if (kind === "saved" && this.refused.length) kind = "refused";
    this.#known.state(kind, waiting, { durable: this.#store.keeps, others: this.#others, message: message ?? "" });
  }
}
