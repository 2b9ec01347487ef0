// Stands between the pages and the network, where browsers allow it: over TLS, and on the server's own machine.
// Without a connection it shows the examinations and mark sheets that were open here, as they last stood, and nothing
// else.
//
// What it keeps: the program's own files; and of the person who is logged in, the pages and states that the server
// marks with `X-Keep` – open examinations, and the page of whose exam code was entered here –, for as long as that person stays logged in (`X-Person` of every answer).
// HELD is { name, files, offline, signs, leave }, written before these lines by the server.

const PROGRAM = `program-${HELD.name}`;
const VISITS = `visits-${HELD.name}`;
const PERSON = "/person"; // under this name the cache of visits remembers whose they are
const KEPT = "X-Kept-At";
const MOST = 16; // answers: the pages and states of eight examinations
const OLDEST = 12 * 60 * 60 * 1000; // milliseconds: no session lasts longer
const STATES = /^\/api\/visits\/[0-9]+$/;
const SIGNS = /^\/api\/signs\./; // bear their own digest in their address: they never change
const PATIENCE = 5000; // milliseconds before a copy is shown, where there is one
const LOGGED_OUT = 401;

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("message", (event) => event.waitUntil(heard(event)));
self.addEventListener("fetch", (event) => {
  const { request } = event, { origin, pathname } = new URL(request.url), isPage = request.mode === "navigate";
  if (origin !== self.location.origin) return;
  if (request.method === "POST" && isPage) event.respondWith(sent(request));
  else if (request.method !== "GET") return;
  else if (pathname.startsWith("/static/")) event.respondWith(fromProgram(request));
  else if (SIGNS.test(pathname)) event.respondWith(fromProgramOrServer(request, event));
  else if (isPage || STATES.test(pathname)) event.respondWith(fromServer(request, event));
});

async function install() {
  const program = await caches.open(PROGRAM);
  const strangers = [...HELD.files, HELD.offline].map((each) => new Request(each, { credentials: "omit", cache: "no-cache" }));
  await program.addAll(strangers);
  await self.skipWaiting();
}

/** Take over, and let go of what an older version kept; open pages then ask for copies of the new one. */
async function activate() {
  for (const name of await caches.keys()) if (name !== PROGRAM && name !== VISITS) await caches.delete(name);
  await fetchAndRemember(HELD.signs);
  await self.clients.claim();
}

/** A page asks to be taken under our wing, and then for a copy of itself. */
async function heard({ data, source }) {
  if (data === "claim") await self.clients.claim();
  if (data === "keep" && numberIn(bare(source.url))) await fetchAndRemember(source.url);
}

async function fetchAndRemember(url) {
  const began = Date.now();
  try { await remember(url, await fetch(url, { cache: "no-store", headers: { Accept: "*/*" } }), began); } catch { /* not now */ }
}

async function fromProgram(request) {
  return (await caches.match(request, { cacheName: PROGRAM })) ?? fetch(request);
}

/** What only somebody known is given, and so may not have come with the rest. */
async function fromProgramOrServer(request, event) {
  return (await caches.match(request, { cacheName: PROGRAM })) ?? fromServer(request, event);
}

async function fromServer(request, event) {
  const isPage = request.mode === "navigate", began = Date.now();
  const copy = await kept(request.url), answer = fetch(request);
  try {
    const first = await (copy && isPage ? Promise.race([answer, late()]) : answer);
    event.waitUntil(remember(request.url, first.clone(), began));
    return first;
  } catch (error) {
    event.waitUntil(answer.then((each) => remember(request.url, each, began)).catch(() => {}));
    if (copy && isNews(copy, request)) return copy;
    const offline = isPage && (await caches.match(HELD.offline, { cacheName: PROGRAM }));
    if (offline) return offline;
    throw error;
  }
}

/** Send a form. Without a connection, or for whoever is logged out, the page with what was typed stays; whoever leaves leaves nothing behind. */
async function sent(request) {
  try {
    const answer = await fetch(request);
    return answer.status === LOGGED_OUT ? await stays("logged out") : answer;
  } catch {
    if (new URL(request.url).pathname === HELD.leave) {
      await caches.delete(VISITS);
      return Response.redirect(`${HELD.offline}?left`);
    }
    return stays("not sent");
  }
}

async function stays(why) {
  for (const each of await self.clients.matchAll()) each.postMessage(why);
  return new Response(null, { status: 204 });
}

function late() {
  return new Promise((_, reject) => setTimeout(() => reject(new Error("late")), PATIENCE));
}

let last = Promise.resolve(), changed = 0;

/** Keep an answer if the server allows it; one after the other, since they may be different people's. */
function remember(url, answer, began) {
  last = last.then(() => remembered(url, answer, began)).catch(() => {});
  return last;
}

async function remembered(url, answer, began) {
  if (answer.headers.get("Cache-Control")?.includes("immutable")) {
    if (answer.ok) await (await caches.open(PROGRAM)).put(url, answer);
    return;
  }
  const visits = await caches.open(VISITS), person = answer.headers.get("X-Person");
  if (answer.type !== "opaqueredirect") {
    if (person === null || began < changed) return; // not our server; or asked by whoever was there before
    if ((await (await visits.match(PERSON))?.text()) !== person) {
      changed = began; // not the time now: what the new person has asked for meanwhile is theirs
      for (const each of await visits.keys()) await visits.delete(each);
      await visits.put(PERSON, new Response(person));
    }
  }
  if (answer.ok && answer.headers.get("X-Keep") === "open") await visits.put(bare(url), await dated(answer));
  else if (answer.type === "opaqueredirect" || answer.status < 300 || (answer.status >= 400 && answer.status < 500)) {
    for (const each of await visits.keys()) if (numberIn(each.url) && numberIn(each.url) === numberIn(bare(url))) await visits.delete(each);
  }
  const copies = (await visits.keys()).filter((each) => numberIn(each.url));
  for (const each of copies.slice(0, Math.max(0, copies.length - MOST))) await visits.delete(each);
}

/** An answer with the time of this device's own clock, which need not be the server's. */
async function dated(answer) {
  const headers = new Headers(answer.headers);
  headers.set(KEPT, Date.now());
  return new Response(await answer.blob(), { headers });
}

async function kept(url) {
  const visits = await caches.open(VISITS), copy = await visits.match(bare(url));
  if (!copy || Math.abs(Date.now() - Number(copy.headers.get(KEPT))) < OLDEST) return copy;
  await visits.delete(bare(url));
  return undefined;
}

function bare(url) {
  const { origin, pathname } = new URL(url);
  return origin + pathname;
}

/** The number of the visit whose examination or state an address names, or that it is of mark sheets; if it does. */
function numberIn(url) {
  return url.match(/\/visits\/([0-9]+)(?:\/examine\/)?$/)?.[1] ?? url.match(/\/(mark\/sheets)\/$/)?.[1];
}

/** Whether a copy tells more than the asker has: a tag is "version-status". */
function isNews(copy, request) {
  const version = (tag) => parseInt(tag?.slice(1) ?? "-1", 10);
  return !request.headers.has("If-None-Match") || version(copy.headers.get("ETag")) > version(request.headers.get("If-None-Match"));
}
