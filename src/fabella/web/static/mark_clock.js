// The station clock: the same bell on every tablet, by the server's time as this device last measured it.

const KEEP = "exam-clock";
const FRESH = 10 * 60 * 1000; // milliseconds for which a quick measurement is better than a newer, slower one
const SOON = 2 * 60 * 1000;
const RING = 8000;

/** How far this device's clock is ahead of the server's. */
export class Clock {
  #best = null; // { ahead, round, at }, all in milliseconds

  constructor() {
    try { this.#best = JSON.parse(localStorage.getItem(KEEP)); } catch { /* then it is measured when there is a connection */ }
  }

  /** Seconds that this device is ahead; null while nobody knows. */
  get ahead() { return this.#best ? Math.round(this.#best.ahead) / 1000 : null; }

  /** The server's time now. */
  now() { return Date.now() - (this.#best?.ahead ?? 0); }

  /** Take the time that an answer tells, asked for at `began`. */
  measure(answer, began) {
    const told = Number(answer.headers.get("X-Now")), at = Date.now(), round = at - began;
    if (!told || round < 0) return;
    if (this.#best && at - this.#best.at < FRESH && this.#best.round <= round && at >= this.#best.at) return;
    this.#best = { ahead: at - round / 2 - told, round, at };
    try { localStorage.setItem(KEEP, JSON.stringify(this.#best)); } catch { /* private window: for this page only */ }
  }
}

/** What the clock shows at a moment, from the bells of the day, { begins, ends } in order. */
export function showing(bells, now) {
  const at = bells.findIndex((each) => now < each.ends);
  if (at < 0) return { kind: "after", words: "The day is over", until: null, whole: 1 };
  const bell = bells[at], before = bells[at - 1];
  if (now >= bell.begins) return { kind: "station", words: "Left at the station", until: bell.ends, whole: bell.ends - bell.begins };
  const isChange = before && before.turn === bell.turn;
  const words = isChange ? "Change: next begins in" : `Round ${bell.turn + 1} begins in`;
  return { kind: isChange ? "change" : "before", words, until: bell.begins, whole: isChange ? bell.begins - before.ends : SOON, rang: before?.ends };
}

/** Minutes and seconds, or hours and minutes where it is long. */
export function span(milliseconds) {
  const seconds = Math.max(0, Math.ceil(milliseconds / 1000)), two = (number) => String(number).padStart(2, "0");
  if (seconds >= 3600) return `${Math.floor(seconds / 3600)} h ${two(Math.floor((seconds % 3600) / 60))} min`;
  return `${Math.floor(seconds / 60)}:${two(seconds % 60)}`;
}

/** A time of day. */
export const hour = (milliseconds) => new Date(milliseconds).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });

/** Show the clock, and ring: visibly always, audibly where somebody asked for it. */
export function run({ clock, bells, at, said }) {
  const [words, left, line, sound] = ["clock-words", "clock-left", "clock", "sound"].map(at);
  let last = "", audio = null;
  const sounds = () => sound.getAttribute("aria-pressed") === "true";
  sound.addEventListener("click", () => {
    const on = !sounds();
    sound.setAttribute("aria-pressed", String(on));
    if (on) { audio ??= new AudioContext(); strike(audio); } // a browser makes no sound that nobody asked for
  });
  // Tablets take the sound away while another program or a locked screen has it, and some give it back to a touch only.
  const wake = () => { if (audio && audio.state !== "running") audio.resume().catch(() => {}); };
  document.addEventListener("visibilitychange", wake);
  addEventListener("pointerup", wake);
  const tick = () => {
    const now = clock.now(), shown = showing(bells(), now), ringing = shown.rang !== undefined && now - shown.rang < RING;
    line.hidden = false;
    line.dataset.kind = ringing ? "ring" : shown.kind;
    words.textContent = ringing ? "Bell: the time is over. Next in" : shown.words;
    left.textContent = shown.until === null ? "" : span(shown.until - now);
    line.querySelector(".clock-line span").style.setProperty("--left", shown.until === null ? 0 : Math.min(1, (shown.until - now) / shown.whole));
    const soon = shown.kind === "station" && shown.until - now < SOON && shown.whole > 2 * SOON;
    const news = `${shown.kind} ${shown.until} ${soon}`;
    if (news === last) return;
    const first = last === "";
    last = news;
    if (first) return;
    said(soon ? "Two minutes left" : shown.kind === "station" ? "Begin" : shown.kind === "change" || shown.kind === "after" ? "Bell: the time is over" : words.textContent);
    if (sounds() && !soon) { wake(); strike(audio); }
  };
  setInterval(tick, 500);
  tick();
}

/** One stroke of a bell: two tones that die away. */
function strike(audio) {
  for (const [pitch, loud] of [[660, 0.25], [1320, 0.1]]) {
    const tone = audio.createOscillator(), volume = audio.createGain();
    tone.frequency.value = pitch;
    volume.gain.setValueAtTime(loud, audio.currentTime);
    volume.gain.exponentialRampToValueAtTime(0.001, audio.currentTime + 2);
    tone.connect(volume).connect(audio.destination);
    tone.start();
    tone.stop(audio.currentTime + 2);
  }
}
