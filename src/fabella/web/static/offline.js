// Lists the examinations and mark sheets that this browser holds for work without a connection.

const list = document.getElementById("open");
document.getElementById("left").hidden = !location.search.includes("left");
document.getElementById("again").addEventListener("click", () => location.reload());
addEventListener("online", () => { if (location.pathname !== "/offline/") location.reload(); });

for (const name of globalThis.caches ? await caches.keys() : []) {
  if (!name.startsWith("visits-")) continue;
  const visits = await caches.open(name);
  for (const { url } of await visits.keys()) {
    if (!url.endsWith("/examine/") && !url.endsWith("/mark/sheets/")) continue;
    const page = new DOMParser().parseFromString(await (await visits.match(url)).text(), "text/html");
    const link = Object.assign(document.createElement("a"), { href: url, textContent: page.title.replace(/ – Fabella$/, "") });
    list.append(document.createElement("li"));
    list.lastChild.append(link);
  }
}
document.getElementById("none").hidden = list.children.length > 0;
