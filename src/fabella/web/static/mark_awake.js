// A tablet on which a sheet is open keeps its screen on until the day is over: a dark one shows and rings no bell.

let held = null, asking = false;

/** Keep the screen on, or let it go dark again. Browsers take it back whenever the page is out of sight: say it again then. */
export async function stayAwake(on) {
  if (!on) {
    held?.release();
    held = null;
  } else if (navigator.wakeLock && !document.hidden && !asking && (!held || held.released)) {
    asking = true;
    try { held = await navigator.wakeLock.request("screen"); } catch { /* a battery that is low has its way */ } finally { asking = false; }
  }
}
