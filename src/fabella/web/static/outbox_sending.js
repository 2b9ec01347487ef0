// Sends what waits: in order, one request at a time in the whole browser, under its author's name only.

const MANY = 50; // in one request; a dropped connection then costs little
const PATIENCE = 15000; // milliseconds for an answer
const LEASE = PATIENCE + 5000;
const ANOTHER = { kind: "sending", message: "Another window sends." };

/**
 * Send everything that waits for one visit, and return how it ended: `kind` is
 * "saved", "waiting" (no connection), "shut_out" (nobody or somebody else is logged in), "failing" (the server cannot),
 * or "sending" (another window does), with a `message`.
 * `sending()` is called before each request, `answered(answer, entries)` after each answer.
 */
export function sendWaiting({ store, visit, author, device, sending, answered }) {
  return alone(store, `outbox-${visit}`, async (hold) => {
    for (let size = MANY; ;) {
      const entries = (await store.waiting(visit, author, device)).slice(0, size);
      if (!entries.length) return { kind: "saved" };
      sending();
      if (!(await hold())) return ANOTHER;
      const reply = await post(entries, author, device);
      if (reply.kind === "wrong" && size > 1) size = 1; // which of them is it?
      else if (reply.kind === "wrong") {
        const problems = [{ place: "", value: null, says: reply.message, remedy: "" }];
        const results = [{ id: entries[0].id, outcome: "refused", version: null, problems }];
        await store.settle(entries, results);
        answered({ version: null, results, conflicts: [] }, entries);
      } else if (reply.kind !== "answer") return reply;
      else {
        await store.settle(entries, reply.answer.results);
        answered(reply.answer, entries);
        size = MANY;
      }
    }
  });
}

/**
 * What is still on its way to the disk when the page goes may not arrive there: note it, and send it straight to the
 * server, too, if nothing waits before it. It has one id, so it is entered once.
 */
export function postUnkept({ store, waiting, author, device }) {
  store.leave();
  const late = [...store.unkept];
  if (!late.length || waiting.length !== late.length) return;
  store.unkept.clear();
  post(late, author, device).catch(() => {});
}

/** Send entries at once, and return what came of it. */
async function post(entries, author, device) {
  const body = JSON.stringify({ operations: entries.map((each) => each.operation) });
  const abort = new AbortController();
  const timer = setTimeout(() => abort.abort(), PATIENCE);
  try {
    const answer = await fetch(entries[0].address, {
      method: "POST",
      headers: {
        "Content-Type": "application/json",
        "X-CSRFToken": csrfToken(),
        "X-Author": encodeURIComponent(author), // the server refuses it under another name
        "X-Device": encodeURIComponent(device),
      },
      body,
      cache: "no-store",
      redirect: "error",
      keepalive: body.length < 50000, // arrives though the page is closed meanwhile
      signal: abort.signal,
    });
    return read(answer.status, await answer.json(), entries);
  } catch {
    return { kind: "waiting", message: "" };
  } finally {
    clearTimeout(timer);
  }
}

function read(status, answer, entries) {
  const message = answer?.error?.message ?? "";
  if (status === 200) {
    const whole = answer.results?.length === entries.length && answer.results.every((each, at) => each.id === entries[at].id);
    return whole ? { kind: "answer", answer } : { kind: "failing", message: "The answer was not understood." };
  }
  if (status === 401 || status === 403) return { kind: "shut_out", message };
  if (status === 400 || status === 413) return { kind: "wrong", message };
  return { kind: "failing", message };
}

/** Do something while no other window of this browser does it; `hold` says whether it still is ours. */
async function alone(store, name, work) {
  if (navigator.locks) return navigator.locks.request(name, () => work(() => true));
  const holder = randomId(); // no locks over plain http
  const hold = () => store.lease(name, holder, LEASE);
  if (!(await hold())) return ANOTHER;
  try { return await work(hold); } finally { await store.lease(name, holder, -1); }
}

/** An id that was never used before; `randomUUID` does not exist over plain http. */
export function randomId() {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (each) => each.toString(16).padStart(2, "0")).join("");
}

/** What another window was answered, as far as this one needs it. */
export function answerOf(entries) {
  const results = entries.map(({ id, status, version, problems }) => (
    { id, outcome: status === "refused" ? "refused" : "saved", version, problems }
  ));
  return { version: Math.max(0, ...results.map((each) => each.version ?? 0)), results, conflicts: null };
}

/** The token against forged requests, which the server renews at each login; over TLS its name has a prefix. */
export function csrfToken() {
  const found = document.cookie.match(/(?:^|;\s*)__Host-fabella_csrf=([^;]*)/) ?? document.cookie.match(/(?:^|;\s*)fabella_csrf=([^;]*)/);
  return found?.[1] ?? "";
}

/** The visits whose outbox is open on this page. */
export const openHere = new Set();

const channels = new Map(); // those on which this window listens: what it tells there it does not hear itself

const channel = (visit) => (typeof BroadcastChannel === "undefined" ? null : new BroadcastChannel(`outbox-${visit}`));

/** Tell the other windows of this browser that something is new about a visit. */
export function tellOthers(visit) {
  const listening = channels.get(visit), told = listening ?? channel(visit);
  told?.postMessage("new");
  if (!listening) told?.close();
}

/** Hear of it. */
export function listen(visit, heard) {
  const hears = channel(visit);
  if (!hears) return;
  hears.onmessage = heard;
  channels.set(visit, hears);
}
