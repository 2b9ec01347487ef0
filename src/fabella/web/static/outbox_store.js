// What was typed here, in the browser's own database: on the disk before it is sent, until it is known to be kept.
//
// An entry: { order, id, visit, address, author, device, status, version, problems, operation }.
// status: "waiting" for an answer, "kept" by the server as `version`, "refused" with `problems`.
//
// What is still on its way to the disk when a page closes would go with the page. It is noted in the browser's plain
// storage, which keeps nobody waiting; whichever page opens the store next takes it from there.

const NAME = "outbox";
const ENTRIES = "entries";
const LEASES = "leases";

/** Open a store; where the browser keeps nothing, one that lasts as long as the page (`keeps` is false). */
export async function openStore(name = NAME) {
  const store = new Store(name);
  await store.open();
  await store.takeUp();
  return store;
}

class Store {
  #name;
  #database = null;
  #loose = []; // what the browser would not keep
  #last = Promise.resolve();
  #noted = []; // names of the notes that this page has left
  unkept = new Set(); // entries on their way to the disk

  constructor(name) { this.#name = name; }

  get #note() { return `${this.#name}-left-`; }

  /** Whether everything that was added is on the disk. */
  get keeps() { return this.#database !== null && this.#loose.length === 0; }

  async open() {
    try { this.#database = await opened(this.#name); } catch { this.#database = null; }
  }

  /** Note what is still on its way to the disk, at once: the page may be gone in the next moment. */
  leave() {
    if (!this.unkept.size) return;
    const name = `${this.#note}${Date.now()}-${Math.random()}`;
    try { localStorage.setItem(name, JSON.stringify([...this.unkept])); this.#noted.push(name); } catch { /* full */ }
  }

  /** Add what earlier pages noted as they closed; what reached the disk after all is there once. */
  async takeUp() {
    if (!this.#database) return;
    for (const [name, entries] of notes(this.#note)) {
      await this.add(entries);
      if (this.keeps) localStorage.removeItem(name);
    }
  }

  /** Add entries in order; returns them with their places, or without where they could not be kept. */
  add(entries) {
    for (const each of entries) this.unkept.add(each);
    this.#last = this.#last.then(async () => {
      try {
        await this.#run("readwrite", (store) => {
          for (const each of entries) addOnce(store, each);
        });
      } catch {
        for (const each of entries) this.#loose.push(Object.assign(each, { order: Infinity }));
      }
      for (const each of entries) this.unkept.delete(each);
      if (this.keeps && !this.unkept.size) for (const name of this.#noted.splice(0)) localStorage.removeItem(name);
      return entries;
    });
    return this.#last;
  }

  /** Everything that is here, or everything of one `visit` or `status`, in the order in which it was made. */
  async all(index = null, value = null) {
    let found = [];
    try {
      found = await this.#run("readonly", (store) => {
        const asked = index === null ? store.getAll() : store.index(index).getAll(value);
        return () => asked.result;
      });
    } catch { /* then only what is kept here */ }
    found.sort((one, other) => one.order - other.order);
    return [...found, ...this.#loose.filter((each) => index === null || each[index] === value)];
  }

  /** What waits to be sent for one author's visit, in order. */
  async waiting(visit, author, device) {
    return (await this.all("visit", visit)).filter((each) => each.status === "waiting" && isBy(each, author, device));
  }

  /** Note what became of entries: `results` in their order. A failure leaves them waiting, to be sent again. */
  async settle(entries, results) {
    entries.forEach((each, at) => {
      const { outcome, version, problems } = results[at];
      Object.assign(each, outcome === "refused" ? { status: "refused", problems } : { status: "kept", version });
    });
    const kept = entries.filter((each) => each.order !== Infinity);
    this.#loose = this.#loose.filter((each) => each.status === "waiting");
    await this.put(kept);
  }

  /** Write entries anew in their places. */
  async put(entries) {
    if (entries.length) await this.#run("readwrite", (store) => entries.forEach((each) => { store.put(each); }));
  }

  /** Let entries go. */
  async remove(entries) {
    this.#loose = this.#loose.filter((each) => !entries.some((gone) => gone.id === each.id));
    const kept = entries.filter((each) => each.order !== Infinity);
    if (kept.length) await this.#run("readwrite", (store) => kept.forEach((each) => store.delete(each.order)));
  }

  /** Take or renew a lease for a while; returns whether it is ours. Without a database nobody else can send. */
  async lease(name, holder, milliseconds) {
    try {
      return await this.#run("readwrite", (store) => {
        let ours = false;
        store.get(name).onsuccess = ({ target }) => {
          const now = Date.now(), held = target.result;
          ours = !held || held.holder === holder || held.until < now || held.until > now + 10 * milliseconds;
          if (ours) store.put({ name, holder, until: now + milliseconds });
        };
        return () => ours;
      }, LEASES);
    } catch { return true; }
  }

  /** Run a transaction; one whose connection the browser has dropped is run once more on a new one. */
  async #run(mode, work, name = ENTRIES) {
    for (let again = true; ; again = false) {
      if (!this.#database) throw new Error("nothing is kept here");
      try { return await transact(this.#database, mode, work, name); } catch (error) {
        if (!again || error?.name === "QuotaExceededError") throw error;
        await this.open();
      }
    }
  }
}

/** Whether an entry was made by this person, in this browser as the server knows it. */
export function isBy(entry, author, device) {
  return entry.author === author && entry.device === device;
}

function addOnce(store, entry) {
  const asked = store.add(entry), placed = ({ target }) => { entry.order = target.result; };
  asked.onsuccess = placed;
  asked.onerror = (event) => {
    if (asked.error.name !== "ConstraintError") return;
    event.preventDefault(); // it is there: noted by a page whose transaction ended after all
    event.stopPropagation();
    store.index("id").getKey(entry.id).onsuccess = placed;
  };
}

function notes(prefix) {
  try {
    const names = Object.keys(localStorage).filter((each) => each.startsWith(prefix)).sort();
    return names.map((name) => [name, JSON.parse(localStorage.getItem(name))]).filter(([, entries]) => entries);
  } catch { return []; } // a browser may keep nothing at all
}

function opened(name) {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(name, 1);
    asked.onupgradeneeded = () => {
      const made = asked.result.createObjectStore(ENTRIES, { keyPath: "order", autoIncrement: true });
      made.createIndex("visit", "visit");
      made.createIndex("status", "status");
      made.createIndex("id", "id", { unique: true });
      asked.result.createObjectStore(LEASES, { keyPath: "name" });
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => asked.result.close();
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error("blocked"));
  });
}

function transact(database, mode, work, name) {
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(name, mode, { durability: "strict" });
    let result = () => undefined;
    transaction.oncomplete = () => resolve(result());
    transaction.onerror = transaction.onabort = () => reject(transaction.error ?? new Error("aborted"));
    result = work(transaction.objectStore(name)) ?? result;
  });
}
