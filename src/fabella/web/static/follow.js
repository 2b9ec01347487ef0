// Follows the state of a visit by asking for it again and again; an unchanged state costs an empty answer.

const EVERY = 2000; // milliseconds
const AT_MOST = 30000;

/**
 * Call `changed(state)` whenever the state at an address has another mark than this one.
 * What is returned has `seen(mark)`: that state is known already, and need not be sent.
 * Asks less often while the server cannot be reached, and not at all while nobody looks.
 */
export function follow(address, mark, changed) {
  let tag = `"${mark}"`;
  let wait = EVERY;
  const ask = async () => {
    if (!document.hidden) {
      try {
        const answer = await fetch(address, { headers: { "If-None-Match": tag }, cache: "no-store" });
        wait = EVERY;
        if (answer.status === 200) {
          tag = answer.headers.get("ETag");
          await changed(await answer.json());
        }
      } catch {
        wait = Math.min(2 * wait, AT_MOST);
      }
    }
    setTimeout(ask, wait);
  };
  setTimeout(ask, wait);
  return { seen: (known) => { tag = `"${known}"`; } };
}
